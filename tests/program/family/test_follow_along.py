"""What the follow-along is told of a session, held against sums done by hand."""

import pytest
from django.urls import reverse

from library.models import Exercise
from program.common.session_plan import plan_of
from program.family.figures import drawings_of
from program.family.follow_along import follow_data
from program.models import AssignedSession
from tests.support.factories import CompletionFactory
from tests.support.family import EVENING, STOP_RULES, assign, give, text

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


def told(session, notes=None):
    return follow_data(AssignedSession.objects.with_slots().get(pk=session.pk), notes or {})


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


def test_what_has_to_be_set_up_and_who_has_to_be_there_is_told_with_the_exercise(cast):
    session = assign(cast.child)
    needs = [("a towel", ["towel"]), ("a solid door", ["doorway"])]
    give(
        session,
        "Towel row",
        note="Slow ones.",
        revision__watch=True,
        revision__setup_seconds=90,
        revision__needs=needs,
        revision__caution="Test the knot.",
    )
    give(session, "Sit to stand", place=1, revision__setup_seconds=30)
    data = told(session)
    row = data["slots"]["p0s0"]
    assert (row["watch"], row["needs"]) == (True, "a towel; a solid door")
    assert row["setUp"] == {"first": 90, "again": 10}
    assert (row["caution"], row["note"]) == ("Test the knot.", "Slow ones.")
    assert data["slots"]["p0s1"]["setUp"] == {"first": 30, "again": 0}
    # 2 rounds straight: 90 + 10 ready + 40 + 30 rest + 40, then 30 + 10 ready and the same again.
    assert [(s["kind"], s["seconds"]) for s in data["steps"] if s["kind"] == "set_up"] == [
        ("set_up", 90),
        ("set_up", 30),
    ]
    assert sum(s["seconds"] for s in data["steps"]) == 90 + 120 + 30 + 120


def test_the_minutes_of_a_session_count_its_setting_up(cast):
    session = assign(cast.child)
    give(session, "Squat", revision__setup_seconds=0)
    before = plan_of(AssignedSession.objects.with_slots().get(pk=session.pk)).seconds
    give(session, "Row", place=1, revision__setup_seconds=60, rounds=2)
    after = plan_of(AssignedSession.objects.with_slots().get(pk=session.pk)).seconds
    assert after - before == 60 + 10 + 40 + 30 + 40


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


def drawn(session, place, slug, **given):
    slot = give(session, slug, place=place, **given)
    Exercise.objects.filter(pk=slot.revision.exercise_id).update(slug=slug)
    return f"p{slot.part_position}s{place}"


def test_an_exercise_that_is_not_drawn_is_shown_in_words(cast):
    session = assign(cast.child)
    give(session, "Slow step down")
    assert told(session)["slots"]["p0s0"]["figure"] is None


def test_a_photo_of_a_coachs_own_stands_in_the_figures_place_and_a_clip_leaves_words(cast):
    session = assign(cast.child)
    said = {"revision__picture_words": "Feet flat."}
    squat = drawn(session, 0, "free-squat", revision__picture=f"{'0' * 32}.jpg", **said)
    push = drawn(session, 1, "floor-push", revision__picture=f"{'0' * 32}.mp4", **said)
    slots = told(session)["slots"]
    photo = reverse("library:picture_file", args=["free-squat", 1])
    assert (slots[squat]["photo"], slots[squat]["figure"]) == (photo, None)
    assert (slots[push]["photo"], slots[push]["figure"]) == ("", None)
    full = AssignedSession.objects.with_slots().get(pk=session.pk)
    assert list(drawings_of(full)) == [photo]


def test_a_figure_moves_at_the_tempo_that_is_counted(cast):
    session = assign(cast.child)
    squat = drawn(session, 0, "free-squat", tempo="2-1-X-0")
    push = drawn(session, 1, "floor-push", tempo="", revision__tempo="")
    slots = told(session)["slots"]
    address = "/library/figures/free-squat.svg?side=left&tempo=2-1-X-0"
    assert slots[squat]["figure"] == {"left": address, "right": address, "held": None}
    assert slots[push]["figure"]["left"].endswith("&tempo=2-0-1-0")
    assert slots[push]["unit"] == 2 + 0 + 1 + 0


def test_phases_come_in_the_order_in_which_they_are_drawn(cast):
    session = assign(cast.child)
    bridge = drawn(session, 0, "glute-bridge", tempo="3-0-1-2")
    told_phases = told(session)["slots"][bridge]["phases"]
    assert [(phase["word"], phase["seconds"]) for phase in told_phases] == [
        ("up", 1),
        ("still", 2),
        ("down", 3),
    ]


def test_each_side_has_its_figure_and_a_loop_of_both_sides_is_not_mirrored_again(cast):
    session = assign(cast.child)
    split = drawn(session, 0, "split-squat", revision__sides="each")
    lunge = drawn(session, 1, "reverse-lunge", revision__sides="alternating")
    slots = told(session)["slots"]
    assert "side=right" in slots[split]["figure"]["right"]
    assert slots[lunge]["figure"]["right"] == slots[lunge]["figure"]["left"]


def test_a_hold_is_held_from_where_the_figure_has_taken_it(cast):
    session = assign(cast.child)
    hold = {"revision__measure": "seconds", "revision__tempo": "", "tempo": "", "amount": 20}
    plank = drawn(session, 0, "plank", **hold)
    march = drawn(session, 1, "bear-march", **hold)
    slots = told(session)["slots"]
    assert 0 < slots[plank]["figure"]["held"] < 3
    assert slots[march]["figure"]["held"] is None


def test_the_page_names_the_session_and_holds_its_own_log(cast, client_for, session):
    ids = [cast.child.public_id, session.public_id]
    answer = client_for(cast.guardian).get(reverse("program:follow", args=ids))
    page = text(answer)
    assert "Strong steps" in page
    assert "Something hurts" in page
    assert "see a doctor or physiotherapist" in page
    assert reverse("program:log", args=ids) in answer.content.decode()


def test_what_else_means_stop_stands_before_it_begins_and_can_be_said(cast, client_for, session):
    ids = [cast.child.public_id, session.public_id]
    client = client_for(cast.guardian)
    for name in ["follow", "read", "session_day"]:
        assert STOP_RULES in text(client.get(reverse(f"program:{name}", args=ids)))
    choices = client.get(reverse("program:follow", args=ids)).content.decode()
    for symptom in ["dizzy", "wheeze", "breath", "headache", "sick"]:
        assert f'name="hurt_region" value="{symptom}" data-symptom' in choices
    assert set(told(session)["symptoms"]) >= {"wheeze", "headache", "sick"}


def test_a_session_that_is_logged_says_so_before_it_is_begun_again(cast, client_for, session):
    page = reverse("program:follow", args=[cast.child.public_id, session.public_id])
    assert "Logged already" not in text(client_for(cast.guardian).get(page))
    CompletionFactory(
        assigned_session=session, state="some", logged_at=EVENING, logged_by=cast.guardian
    )
    assert "Logged already: some of it." in text(client_for(cast.guardian).get(page))


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
