"""Taking away what is gone already is answered as if done; what is another's stays a 404."""

import re
from html import unescape
from typing import Any

import pytest
from django.urls import reverse

from library.shared.already_deleted import FIELD
from tests.support.addresses import ALLOWED
from tests.support.asking import MISSING, OWN, address_of
from tests.support.planning import HTMX
from tests.support.scene import Scene

pytestmark = pytest.mark.django_db

# What takes something away, the page on which it stands, and where it leads when that is gone.
TAKES_AWAY = {
    "program:slot_take_out": ("program:build", "program:build"),
    "program:part_take_out": ("program:build", "program:build"),
    "program:session_take_out": ("program:block", "program:blocks"),
    "program:block_away": ("program:block_away", "program:blocks"),
    "program:template_away": ("program:templates", "program:templates"),
    "program:break_away": ("program:breaks", "program:breaks"),
    "library:remove_note": ("library:exercise", "library:exercise"),
    "library:remove_step": ("library:step", "library:pathway"),
    "library:remove_lateral": ("library:pathway", "library:pathway"),
}


def address(scene: Scene, name: str, which: str = OWN) -> str:
    return address_of(scene, name, "coach", (which,) * len(ALLOWED[name].ids))


def names_shown(scene: Scene, name: str) -> list[str]:
    """The signed names in the forms of the page on which something stands."""
    html = scene.client("coach").get(address(scene, TAKES_AWAY[name][0])).content.decode()
    found = re.findall(rf'<input type="hidden" name="{FIELD}" value="([^"]*)">', html)
    assert found, html
    return [unescape(signed) for signed in found]


def form(scene: Scene, name: str, **more: Any) -> dict[str, Any]:
    return ALLOWED[name].body(scene.own) | more


@pytest.mark.parametrize("name", TAKES_AWAY)
def test_taking_it_away_twice_is_told_and_leads_back(scene, name):
    coach, act = scene.client("coach"), address(scene, name)
    sent = form(scene, name, **{FIELD: names_shown(scene, name)})
    assert coach.post(act, sent).status_code == 302
    again = coach.post(act, sent)
    assert again.status_code == 302
    assert again.url == address(scene, TAKES_AWAY[name][1])
    assert "was already gone." in coach.get(again.url).content.decode()


@pytest.mark.parametrize("name", TAKES_AWAY)
def test_without_the_name_its_page_showed_it_is_as_missing_as_what_never_was(scene, name):
    coach, act = scene.client("coach"), address(scene, name)
    shown = names_shown(scene, name)
    coach.post(act, form(scene, name))
    assert coach.post(act, form(scene, name)).status_code == 404
    assert coach.post(act, form(scene, name, **{FIELD: "anything:at-all"})).status_code == 404
    # Nor does one person's name serve another, or one address's another.
    other = scene.client("head_coach")
    assert other.post(act, form(scene, name, **{FIELD: shown})).status_code == 404
    missing = address(scene, name, MISSING)
    assert coach.post(missing, form(scene, name, **{FIELD: shown})).status_code == 404


def test_what_is_there_and_no_longer_ones_own_is_a_404(scene):
    """A coach who has lost the cohort since the page was opened."""
    name = "program:session_take_out"
    sent, act = form(scene, name, **{FIELD: names_shown(scene, name)}), address(scene, name)
    scene.own.cohort.coaches.clear()
    assert scene.client("coach").post(act, sent).status_code == 404


def test_the_builder_stays_and_says_what_was_gone(scene):
    coach, act = scene.client("coach"), address(scene, "program:slot_take_out")
    sent = form(
        scene, "program:slot_take_out", **{FIELD: names_shown(scene, "program:slot_take_out")}
    )
    coach.post(act, sent, headers=HTMX)
    answer = coach.post(act, sent, headers=HTMX)
    html = answer.content.decode()
    assert answer.status_code == 200
    assert re.search(r'role="status">“[^”]+” was already gone\.<', html)
    assert 'id="parts"' in html


def test_a_session_taken_out_on_the_board_leads_back_to_the_board(scene):
    name = "program:session_take_out"
    coach, act, board = scene.client("coach"), address(scene, name), address(scene, "program:block")
    sent = form(scene, name, **{FIELD: names_shown(scene, name)})
    coach.post(act, sent)
    from_board = {"referer": f"http://testserver{board}"}
    assert coach.post(act, sent, headers=from_board).url == board
    builder = {"referer": f"http://testserver{address(scene, 'program:build')}"}
    assert coach.post(act, sent, headers=builder).url == reverse("program:blocks")
