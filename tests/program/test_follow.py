"""What the follow-along is told of a session, held against sums done by hand."""

import pytest
from django.urls import reverse

from program.follow import follow_data
from program.models import AssignedSession
from tests.program.family import assign, give, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def session(cast):
    """Two rounds of a step each side with an easier option, and a hold: a superset."""
    session = assign(cast.child)
    easier = give(assign(cast.other_child), "Step down from a book", amount=6).revision
    superset = {"part_kind": "superset", "rounds": 2, "part_rest_seconds": 30, "rest_seconds": 15}
    give(
        session,
        "Slow step down",
        revision__sides="each",
        revision__loads=["knee"],
        revision__moves=[],
        amount=8,
        easier_revision=easier,
        easier_amount=6,
        easier_tempo="X-0-1-0",
        **superset,
    )
    give(
        session,
        "Front plank",
        place=1,
        revision__measure="seconds",
        revision__tempo="",
        amount=20,
        **superset,
    )
    return session


def told(session, figures=None):
    full = AssignedSession.objects.with_slots().get(pk=session.pk)
    return follow_data(full, figures or {})


def test_the_steps_are_the_timelines_and_a_rest_belongs_to_what_comes_next(session):
    steps = told(session)["steps"]
    assert [(s["kind"], s["seconds"], s["slot"], s["side"]) for s in steps[:9]] == [
        ("get_ready", 10, "p0s0", None),
        ("work", 40, "p0s0", "left"),  # 8 of 3 + 1 + 1 s
        ("change_side", 4, "p0s0", "right"),
        ("work", 40, "p0s0", "right"),
        ("breather", 15, "p0s1", None),
        ("move_on", 5, "p0s1", None),
        ("work", 20, "p0s1", None),
        ("rest", 30, "p0s0", None),
        ("move_on", 5, "p0s0", None),
    ]
    assert sum(step["seconds"] for step in steps) == 10 + 2 * (84 + 15 + 5 + 20) + 30 + 5


def test_the_phases_of_a_repetition_add_up_to_its_pace(session):
    slot = told(session)["slots"]["p0s0"]
    assert slot["phases"] == [
        {"word": "down", "seconds": 3},
        {"word": "still", "seconds": 1},
        {"word": "up", "seconds": 1},
    ]
    assert slot["unit"] == 5
    easier = slot["easier"]
    assert [phase["seconds"] for phase in easier["phases"]] == [0.5, 1]
    assert (easier["unit"], easier["amount"], easier["name"]) == (1.5, 6, "Step down from a book")
    # 6 of a second and a half.
    assert easier["bouts"] == [{"kind": "work", "seconds": 9, "side": None}]


def test_a_hold_has_no_phases_and_no_easier_option(session):
    slot = told(session)["slots"]["p0s1"]
    assert (slot["phases"], slot["easier"], slot["unit"], slot["amount"]) == ([], None, 1, 20)


def test_a_sore_place_rules_out_what_loads_it_and_every_landing_it_would_meet(cast):
    session = assign(cast.child)
    give(session, "Squat", revision__loads=["knee", "thigh"], revision__moves=[])
    give(
        session, "Hop", place=1, revision__loads=["ankle"], revision__moves=[], revision__contacts=1
    )
    give(session, "Push-up", place=2, revision__loads=["shoulder"], revision__moves=[])
    spares = {key: slot["spares"] for key, slot in told(session)["slots"].items()}
    assert set(spares["p0s0"]) == {"knee", "thigh"}
    assert {"knee", "lower_back", "foot", "ankle"} <= set(spares["p0s1"])
    assert "shoulder" not in spares["p0s1"]
    assert spares["p0s2"] == ["shoulder"]


def test_an_exercise_that_is_not_drawn_is_shown_in_words(session):
    revision = session.slots.first().revision_id
    slots = told(session, {revision: "/library/figures/slow-step-down.svg"})["slots"]
    assert slots["p0s0"]["figure"] == "/library/figures/slow-step-down.svg"
    assert slots["p0s1"]["figure"] == ""


def test_the_page_names_the_session_and_holds_its_own_log(cast, client_for, session):
    ids = [cast.child.public_id, session.public_id]
    answer = client_for(cast.guardian).get(reverse("program:follow", args=ids))
    page = text(answer)
    assert "Strong steps" in page
    assert "Something hurts" in page
    assert "see a doctor or physiotherapist" in page
    assert reverse("program:log", args=ids) in answer.content.decode()


def test_a_stranger_has_no_session_to_follow(cast, client_for, session):
    address = reverse("program:follow", args=[cast.child.public_id, session.public_id])
    assert client_for(cast.other_guardian).get(address).status_code == 404
    assert client_for(cast.nobody).get(address).status_code == 404


def test_a_longer_session_costs_no_more_queries(
    cast, client_for, session, django_assert_max_num_queries
):
    address = reverse("program:follow", args=[cast.child.public_id, session.public_id])
    client = client_for(cast.guardian)
    with django_assert_max_num_queries(40) as short:
        client.get(address)
    for place in range(2, 8):
        give(session, f"More {place}", place=place)
    with django_assert_max_num_queries(len(short)):
        client.get(address)
