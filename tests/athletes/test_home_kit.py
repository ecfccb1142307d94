"""What is at home: asked of a family, and of whoever else may see the child."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.changes import answer_kit
from athletes.home_kit import ONLY_AT_A_VENUE
from athletes.models import HomeKit
from tests.support.children_pages import assert_well_made, errors_of, text
from tests.support.factories import ChildFactory, ItemFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def items():
    return {
        slug: ItemFactory(slug=slug, kind=kind)
        for slug, kind in [
            ("towel", "thing"),
            ("sofa", "thing"),
            ("carpet", "floor"),
            ("mat-space", "space"),
            ("bench", "thing"),
        ]
    }


def kit_of(child) -> str:
    return reverse("athletes:kit", args=[child.public_id])


def ticked(answer) -> set[str]:
    page = answer.context["page"]
    return {t.item.slug for question in page.questions for t in question.tiles if t.ticked}


def said(child) -> set[str]:
    return {item.slug for item in HomeKit.objects.get(child=child).items.all()}


@pytest.mark.parametrize("person", ["guardian", "coach", "head_coach"])
def test_guardians_and_coaches_of_the_child_may_say_what_is_at_home(
    cast, client_for, items, person
):
    who = client_for(getattr(cast, person))
    assert_well_made(who.get(kit_of(cast.child)))
    assert who.post(kit_of(cast.child), {"items": [items["towel"].pk]}).status_code == 302
    assert said(cast.child) == {"towel"}
    assert cast.child.home_kit.answered_by == getattr(cast, person)


def test_a_parent_is_asked_about_floors_room_and_things_and_nothing_of_a_venue(
    cast, client_for, items
):
    read = text(client_for(cast.guardian).get(kit_of(cast.child)))
    assert "Which floors are there? carpet" in read
    assert "Which room is there? mat space" in read
    assert "Which things are there? sofa towel" in read
    assert "bench" not in read


def test_what_only_a_venue_has_is_known_to_the_library():
    """A slug misspelt here would be asked of families after all."""
    from pathlib import Path
    from tomllib import loads

    items = loads(Path("library/starter/items.toml").read_text())["item"]
    assert set(ONLY_AT_A_VENUE) <= {item["slug"] for item in items}


def test_what_was_said_is_ticked_the_next_time(cast, client_for, items):
    answer_kit(cast.child, [items["towel"], items["carpet"]], cast.guardian)
    answer = client_for(cast.guardian).get(kit_of(cast.child))
    assert ticked(answer) == {"towel", "carpet"}
    assert "Leave it as it is" in text(answer)


def test_what_was_said_for_a_sibling_is_remembered_until_this_child_has_an_own_answer(
    cast, client_for, items
):
    answer_kit(cast.child, [items["towel"]], cast.guardian)
    nils = ChildFactory(given_name="Nils", guardian=cast.guardian)
    answer = client_for(cast.guardian).get(kit_of(nils))
    assert ticked(answer) == {"towel"}
    assert "Filled in as for Mira." in text(answer)
    assert not HomeKit.objects.filter(child=nils).exists()
    answer_kit(nils, [items["sofa"]], cast.guardian)
    assert ticked(client_for(cast.guardian).get(kit_of(nils))) == {"sofa"}


def test_a_coach_does_not_learn_of_a_siblings_home_whom_the_coach_may_not_see(
    cast, client_for, items
):
    cast.other_child.guardianships.create(guardian=cast.guardian)
    answer_kit(cast.other_child, [items["towel"]], cast.other_guardian)
    assert ticked(client_for(cast.coach).get(kit_of(cast.child))) == set()
    assert ticked(client_for(cast.guardian).get(kit_of(cast.child))) == {"towel"}


def test_ask_me_later_leaves_the_question_open(cast, client_for, items):
    answer = client_for(cast.guardian).get(kit_of(cast.child))
    assert f'href="{reverse("program:home")}"' in answer.content.decode()
    assert "Ask me later" in text(answer)
    assert not HomeKit.objects.exists()


def test_none_of_these_is_an_answer(cast, client_for, items):
    client_for(cast.guardian).post(kit_of(cast.child), {"nothing": "on"})
    assert said(cast.child) == set()


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({}, "Tick what is there, or “None of these”."),
        ({"items": ["towel"], "nothing": "on"}, "Keep one of the two."),
        ({"items": ["999999"]}, "One of these is no longer on the list."),
        ({"items": ["rope"]}, "One of these is no longer on the list."),
    ],
)
def test_a_wrong_answer_is_refused_and_keeps_the_one_before(
    cast, client_for, items, fields, message
):
    answer_kit(cast.child, [items["sofa"]], cast.guardian)
    if fields.get("items") == ["towel"]:
        fields = fields | {"items": [items["towel"].pk]}
    answer = client_for(cast.guardian).post(kit_of(cast.child), fields)
    assert message in errors_of(answer)
    assert_well_made(answer)
    assert said(cast.child) == {"sofa"}


def test_a_refused_answer_keeps_the_ticks(cast, client_for, items):
    fields = {"items": [items["towel"].pk], "nothing": "on"}
    assert ticked(client_for(cast.guardian).post(kit_of(cast.child), fields)) == {"towel"}


def test_a_family_of_several_finds_the_same_page_for_each(cast, client_for, items):
    nils = ChildFactory(given_name="Nils", guardian=cast.guardian)
    body = client_for(cast.guardian).get(kit_of(cast.child)).content.decode()
    assert f'href="{kit_of(nils)}"' in body


def test_many_items_take_as_many_queries_as_few(cast, client_for, items):
    guardian = client_for(cast.guardian)

    def queries():
        with CaptureQueriesContext(connection) as captured:
            guardian.get(kit_of(cast.child))
        return len(captured)

    answer_kit(cast.child, [items["towel"]], cast.guardian)
    few = queries()
    answer_kit(cast.child, [ItemFactory() for _ in range(30)], cast.guardian)
    assert queries() == few <= 12
