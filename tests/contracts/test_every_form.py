"""What a form is sent with, at every address that takes one: no token, nonsense, strangers' ids."""

from collections.abc import Callable, Iterator
from itertools import cycle
from typing import Any

import pytest
from django.urls import reverse

from program.models import Question
from tests.support.addresses import ALLOWED, TABLED, Row
from tests.support.asking import OWN, Request, address_of, ask
from tests.support.bodies import in_days
from tests.support.factories import UserFactory
from tests.support.scene import ROLES, Half, Scene

TAKES_A_FORM = [name for name in TABLED if ALLOWED[name].post]
# A mail program stops mails, by RFC 8058, and holds neither cookie nor token.
TAKES_NO_TOKEN = {"athletes:stop_mail"}
NONSENSE = {
    "nothing": "",
    "a null byte": "\0",
    "half a surrogate": "\udc80",
    "a huge number": "9" * 40,
    "more digits than Python reads": "9" * 5000,
    "below zero": "-1",
    "far too much": "x" * 5000,
    "markup": "<script>alert(1)</script>",
    "a quote": "'; DROP TABLE athletes_child; --",
}
OVERLOOKED = ("a null byte", "a huge number", "more digits than Python reads")


def somebody_in(row: Row) -> str:
    return next(role for role in ROLES if role in row.door)


def post(scene: Scene, name: str, form: dict[str, Any], role: str = "") -> Any:
    role = role or somebody_in(ALLOWED[name])
    which = (OWN,) * len(ALLOWED[name].ids)
    request = Request(role, "POST", False, which)
    return ask(scene, request, address_of(scene, name, role, which), form)


@pytest.mark.parametrize("name", sorted(set(TAKES_A_FORM) - TAKES_NO_TOKEN))
def test_a_form_without_its_token_is_refused(scene, name):
    role = somebody_in(ALLOWED[name])
    browser = scene.client(role, enforce_csrf_checks=True)
    address = address_of(scene, name, role, (OWN,) * len(ALLOWED[name].ids))
    answer = browser.post(address, **ALLOWED[name].form(scene.own))
    assert answer.status_code == 403
    assert "That was not sent" in answer.content.decode()


@pytest.mark.parametrize("name", TAKES_A_FORM)
def test_nonsense_is_refused_and_never_an_error_of_ours(scene, name):
    row = ALLOWED[name]
    wrong = []
    for what, form in nonsense(row, scene.own):
        answer = post(scene, name, form)
        if answer.kind.startswith("5"):
            wrong.append(f"{what}: {answer.kind}")
    assert wrong == [], "\n".join(wrong)


def nonsense(row: Row, half: Half) -> Iterator[tuple[str, dict[str, Any]]]:
    """The form wrong as a whole in each way, and in each of its fields in one of those that text is
    seldom checked for, by turns; `tests.fuzz` sends each field all of them."""
    fields = list(row.body(half))
    for what, said in NONSENSE.items():
        yield f"all {what}", row.sent(dict.fromkeys(fields, said))
    for field, what in zip(fields, cycle(OVERLOOKED)):
        yield f"{field}: {what}", row.sent(row.body(half) | {field: NONSENSE[what]})
    yield "no form at all", row.sent({})


@pytest.mark.parametrize("said", NONSENSE.values(), ids=NONSENSE)
@pytest.mark.parametrize("kind", ["log", "pain", "started", "easier"])
def test_nonsense_from_a_phone_is_refused_and_never_an_error_of_ours(scene, kind, said):
    row = ALLOWED["program:inbox"]
    sent = row.body(scene.own) | {"kind": kind}
    fields = sent["fields"]
    for wrong in (dict.fromkeys(fields, said), fields | {"note": said}, {said: "done"}):
        answer = post(scene, "program:inbox", row.sent(sent | {"fields": wrong}))
        assert not answer.kind.startswith("5"), answer.kind


def test_json_nested_beyond_reason_is_refused(scene):
    sent = {"data": "[" * 100_000, "content_type": "application/json"}
    assert post(scene, "program:inbox", sent).kind == "400"


QUERIES = (
    *("q", "page", "cohort", "child", "day", "of", "on", "order", "region", "side", "next"),
    *("block", "session", "group", "week", "to"),
)


@pytest.mark.parametrize("name", [name for name in TABLED if ALLOWED[name].get])
def test_nonsense_in_a_query_is_never_an_error_of_ours(scene, name):
    role = somebody_in(ALLOWED[name])
    address = address_of(scene, name, role, (OWN,) * len(ALLOWED[name].ids))
    for said in ("%00", "9" * 40, "9" * 5000, "%D9%A3", "-1", "%C3%28", "x" * 200):
        query = "&".join(f"{key}={said}" for key in QUERIES)
        answer = ask(scene, Request(role, "GET", False), f"{address}?{query}")
        assert not answer.kind.startswith("5"), answer.kind


# An id may also be smuggled in by a form or a query. Each line: the address, what is sent to the
# coach's own, with something of a stranger's in it.
SMUGGLED: dict[str, tuple[str, Callable[[Scene], dict[str, Any]]]] = {
    "a block for a stranger's cohort": (
        "program:block_new",
        lambda scene: {"cohort": scene.foreign.cohort.pk},
    ),
    "a child into a stranger's cohort": (
        "athletes:new_child",
        lambda scene: {"cohort": scene.foreign.cohort.pk},
    ),
    "an enrolment in a stranger's cohort": (
        "athletes:enrol_child",
        lambda scene: {"cohort": scene.foreign.second_cohort.pk},
    ),
    "a file of children into a stranger's cohort": (
        "athletes:import",
        lambda scene: {"cohort": scene.foreign.cohort.pk},
    ),
    "a stranger's child moved on the board": (
        "athletes:move_child",
        lambda scene: {"move": f"{scene.foreign.child.public_id}:own-exercise-1"},
    ),
    "a part before a stranger's": (
        "program:part_move",
        lambda scene: {"way": "", "before": scene.foreign.ids["part"]},
    ),
    "a slot into a stranger's part": (
        "program:slot_move",
        lambda scene: {"way": "", "part": scene.foreign.ids["part"]},
    ),
    "a slot before a stranger's": (
        "program:slot_move",
        lambda scene: {
            "way": "",
            "part": scene.own.ids["part"],
            "before": scene.foreign.ids["slot"],
        },
    ),
    "a stranger's session moved on the block board": (
        "program:place",
        lambda scene: {
            "do": f"move:{scene.foreign.session.pk}:{scene.foreign.session.version}:{in_days(3)}"
        },
    ),
    "a stranger's session carried into one's own block": (
        "program:carry",
        lambda scene: {"session": scene.foreign.session.pk},
    ),
    "a break for a stranger's cohort": (
        "program:breaks",
        lambda scene: {"cohort": scene.foreign.cohort.pk},
    ),
    "a template begun in a stranger's block": (
        "program:template",
        lambda scene: {"block": scene.foreign.session.block_id},
    ),
    "a slot with a draft": (
        "program:slot_new",
        lambda scene: {"exercise": scene.own.aside.pk},
    ),
    "a step from another pattern's exercise": (
        "library:add_step",
        lambda scene: {"easier": scene.other_pattern.pk},
    ),
    "a stranger's log that came too late": (
        "program:kept_logs",
        lambda scene: {"kept": scene.foreign.ids["kept"]},
    ),
    "an answer about a stranger's child": (
        "program:answer",
        lambda scene: {"child": scene.foreign.child.public_id},
    ),
    "an answer to what a stranger reported, as if of one's own child": (
        "program:answer",
        lambda scene: {"key": f"pain-{scene.foreign.child.pain_reports.get().pk}"},
    ),
    "an answer to a stranger's question, as if of one's own child": (
        "program:answer",
        lambda scene: {
            "key": Question.objects.get(public_id=scene.foreign.ids["question"]).key,
            "action": "answer",
            "words": "Two books.",
        },
    ),
    "a stranger's log from a phone": (
        "program:inbox",
        lambda scene: {"child": str(scene.foreign.child.public_id)},
    ),
    "pain on a stranger's exercise": (
        "program:log",
        lambda scene: {
            "hurt": "yes",
            "hurt_region": "knee",
            "hurt_side": "left",
            "hurt_level": 3,
            "hurt_slot": f"slot-{scene.foreign.assigned.slots.first().pk}",
        },
    ),
}


@pytest.mark.parametrize("what", SMUGGLED)
def test_a_form_does_not_reach_what_its_address_would_not(scene, what):
    name, smuggle = SMUGGLED[what]
    row = ALLOWED[name]
    assert post(scene, name, row.form(scene.own), "coach").written
    answer = post(scene, name, row.sent(row.body(scene.own) | smuggle(scene)), "coach")
    assert set(answer.written) <= {"athletes_healthview"}  # that somebody looked
    assert not answer.kind.startswith("5")
    assert "Strangerschild" not in answer.body


@pytest.mark.parametrize(
    ("name", "query"),
    [
        ("program:review", "cohort={cohort}"),
        ("athletes:children", "cohort={cohort}"),
        ("athletes:placements", "child={child}"),
        ("program:block_new", "cohort={cohort}&form=7f0c4d525f0e4b7f9d552f8f4c1f3a10"),
        ("athletes:new_child", "cohort={cohort}"),
    ],
)
def test_a_query_does_not_reach_what_its_address_would_not(scene, name, query):
    which = (OWN,) * len(ALLOWED[name].ids)
    address = address_of(scene, name, "coach", which)
    query = query.format(cohort=scene.foreign.cohort.pk, child=scene.foreign.child.public_id)
    answer = ask(scene, Request("coach", "GET", False), f"{address}?{query}")
    assert answer.kind in {"404", "a page"}
    assert "Strangerschild" not in answer.body
    assert "Other cohort" not in answer.body


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE"])
def test_nothing_is_done_by_any_other_method(scene, method):
    """The sign-in pages aside, which are not ours and take no ids."""
    for name in TABLED:
        row = ALLOWED[name]
        if name.startswith(("account_", "mfa_")):
            continue
        role = somebody_in(row)
        address = address_of(scene, name, role, (OWN,) * len(row.ids))
        assert ask(scene, Request(role, method, False), address).kind == "405", name


def test_nobody_is_let_in_who_was_switched_off(scene):
    UserFactory(role="head_coach")  # the last one stays on
    for role in ROLES:
        scene.people[role].is_active = False
        scene.people[role].save()
        answer = ask(scene, Request(role, "GET", False), reverse("program:home"))
        assert answer.response.headers["Location"].startswith(reverse("account_login"))
