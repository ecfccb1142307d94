"""The builder's page and the values edited in place."""

import pytest
from django.urls import reverse

from program.models import Slot
from tests.support.factories import ChildFactory, ExerciseFactory, PartFactory, SlotFactory
from tests.support.markup import one_line
from tests.support.planning import (
    HTMX,
    MOST_QUERIES,
    assert_well_made,
    builder_of,
    queries_of,
    session_of,
    typed,
    url,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def session(cast):
    return session_of(cast.cohort, parts=2, slots=2, name="Strong steps")


@pytest.fixture
def slot(session):
    return Slot.objects.filter(part__session=session).first()


def test_the_builder_shows_parts_exercises_doses_and_what_they_come_to(coach, session):
    page = coach.get(url("build", session))
    assert page.status_code == 200
    assert_well_made(page.content.decode())
    html = one_line(page.content.decode())
    for words in ("Strong steps", "Exercise 1a", "Exercise 2b", "a seat for Exercise 1a"):
        assert words in html
    assert "week 1 of 8" in html
    assert f'<a href="{reverse("program:blocks")}" aria-current="page">' in html


def test_an_empty_session_says_how_to_begin(coach, cast):
    html = coach.get(url("build", session_of(cast.cohort, parts=0))).content.decode()
    assert "Nothing in this session yet" in html
    assert_well_made(html)


def test_the_panel_adds_up_what_the_timeline_and_the_volume_say(cast):
    """By hand: 10 s to get ready; 2 rounds of 8 × (3+1+1+0) s = 40 s with 30 s of rest between
    them; 10 s breather and 5 s to move on; 20 s of hopping once a round, 30 s of rest between."""
    session = session_of(cast.cohort, parts=0)
    part = PartFactory(session=session, rounds=2, rest_seconds=30)
    SlotFactory(part=part, amount=8, tempo="3-1-1-0")
    hop = ExerciseFactory(
        revision__pattern="land",
        revision__measure="seconds",
        revision__tempo="",
        revision__contacts=2,
    )
    SlotFactory(part=part, position=1, exercise=hop, amount=20, tempo="")
    panel = builder_of(session).panel
    assert panel.plan.seconds == 10 + 40 + 30 + 40 + 10 + 5 + 20 + 30 + 20
    assert [(bar.name, bar.shown) for bar in panel.sets] == [("land", "2"), ("squat", "2")]
    assert panel.totals == ["16 repetitions", "40 seconds of holds and bouts", "80 ground contacts"]


def test_a_session_longer_than_wanted_says_by_how_much(cast):
    session = session_of(cast.cohort, parts=0, target_minutes=5)
    SlotFactory(part=PartFactory(session=session, rounds=10, rest_seconds=30), amount=12)
    panel = builder_of(session).panel
    assert panel.minutes == 15  # 10 s + 10 × 60 s + 9 × 30 s = 880 s
    assert panel.over == 10


def test_no_page_asks_the_database_more_for_more_slots_or_children(coach, cast):
    small = session_of(cast.cohort, parts=1, slots=1)
    few = queries_of(coach, url("build", small))
    large = session_of(cast.cohort, parts=4, slots=5)
    for _ in range(5):
        ChildFactory(cohort=cast.cohort)
    assert queries_of(coach, url("build", large)) == few <= MOST_QUERIES


def test_a_dose_is_saved_in_place_and_the_sums_come_with_the_answer(coach, slot, session):
    answer = coach.post(url("slot", session, slot.pk), typed(slot, amount="12"), headers=HTMX)
    html = one_line(answer.content.decode())
    slot.refresh_from_db()
    session.refresh_from_db()
    assert answer.status_code == 200
    assert (slot.amount, slot.version, session.version) == (12, 2, 2)
    assert 'id="panel" aria-label="What the session comes to" hx-swap-oob="true"' in html
    assert f'name="version" value="{slot.version}"' in html
    assert "<h1>" not in html
    assert "HX-Retarget" not in answer.headers  # and the other lines are left alone


def test_without_scripting_a_saved_dose_leads_back_to_the_builder(coach, slot, session):
    answer = coach.post(url("slot", session, slot.pk), typed(slot, tempo="2 - 0 - x - 1"))
    slot.refresh_from_db()
    assert (answer.status_code, answer.url) == (302, url("build", session))
    assert slot.tempo == "2-0-X-1"


def test_saving_what_did_not_change_is_no_edit(coach, slot, session):
    answer = coach.post(url("slot", session, slot.pk), typed(slot), headers=HTMX)
    slot.refresh_from_db()
    session.refresh_from_db()
    assert (slot.version, session.version) == (1, 1)
    assert "HX-Retarget" not in answer.headers


BAD_DOSES = [
    ("amount", "0", "0 repetitions is out of range: choose 1 to 60."),
    ("amount", "-3", "-3 repetitions is out of range: choose 1 to 60."),
    ("amount", "61", "61 repetitions is out of range: choose 1 to 60."),
    ("amount", "9" * 30, "Write a whole number from 1 up."),
    ("amount", "lots", "“lots” is not a whole number. Write a whole number from 1 up."),
    ("amount", "7.5", "“7.5” is not a whole number. Write a whole number from 1 up."),
    ("amount", "", "Say how much: a whole number from 1 up."),
    ("tempo", "fast", "“fast” is not a tempo."),
    ("tempo", "0-0-0-0", "A tempo of four zeros takes no time"),
    ("tempo", "3-1-99-0", "Each part of a tempo is 0 to 10 seconds, not 99."),
    ("rest_seconds", "-1", "A rest is between 0 and 600 seconds."),
    ("rest_seconds", "601", "A rest is between 0 and 600 seconds."),
    ("rest_seconds", "a bit", "“a bit” is not a whole number."),
    ("max_steps_up", "6", "At most 5 steps up."),
    ("rule", "whatever", "Select a valid choice."),
]


@pytest.mark.parametrize(("field", "value", "message"), BAD_DOSES)
def test_a_bad_dose_is_refused_at_its_field_and_changes_nothing(
    coach, slot, session, field, value, message
):
    before = Slot.objects.filter(pk=slot.pk).values().get()
    answer = coach.post(url("slot", session, slot.pk), typed(slot, **{field: value}), headers=HTMX)
    html = answer.content.decode()
    assert answer.status_code == 422
    at_the_field = html.partition(f'id="slot-{slot.pk}-{field}-said"')[2].partition("</span>")[0]
    assert message in at_the_field
    assert Slot.objects.filter(pk=slot.pk).values().get() == before
    session.refresh_from_db()
    assert session.version == 1


def test_a_bad_dose_without_scripting_shows_the_page_with_what_was_typed(coach, slot, session):
    answer = coach.post(url("slot", session, slot.pk), typed(slot, amount="0", note="quiet foot"))
    html = answer.content.decode()
    assert answer.status_code == 422
    assert_well_made(html)
    assert "0 repetitions is out of range" in html
    assert 'value="quiet foot"' in html


@pytest.mark.parametrize(
    ("measure", "highest"), [("repetitions", 60), ("seconds", 600), ("metres", 200)]
)
def test_how_much_one_dose_may_ask_for_depends_on_the_measure(
    coach, cast, session, measure, highest
):
    exercise = ExerciseFactory(revision__measure=measure, revision__tempo="")
    slot = SlotFactory(part=session.parts.first(), position=9, exercise=exercise, tempo="")
    address = url("slot", session, slot.pk)
    assert coach.post(address, typed(slot, amount=highest), headers=HTMX).status_code == 200
    assert coach.post(address, typed(slot, amount=highest + 1), headers=HTMX).status_code == 422
    slot.refresh_from_db()
    assert slot.amount == highest


def test_a_hold_is_given_no_tempo(coach, session):
    hold = ExerciseFactory(revision__measure="seconds", revision__tempo="")
    slot = SlotFactory(part=session.parts.first(), position=9, exercise=hold, tempo="")
    html = coach.get(url("build", session)).content.decode()
    assert f'id="slot-{slot.pk}-amount"' in html
    assert f'id="slot-{slot.pk}-tempo"' not in html


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        ("name", " ", "Give the part a name."),
        ("rounds", "0", "A part has between 1 and 10 rounds."),
        ("rounds", "11", "A part has between 1 and 10 rounds."),
        ("rounds", "few", "“few” is not a whole number."),
        ("rest_seconds", "-5", "A rest is between 0 and 600 seconds."),
        ("rest_seconds", "9999", "A rest is between 0 and 600 seconds."),
        ("kind", "ladder", "Select a valid choice."),
    ],
)
def test_a_bad_part_is_refused_at_its_field_and_changes_nothing(
    coach, session, field, value, message
):
    part = session.parts.first()
    answer = coach.post(url("part", session, part.pk), typed(part, **{field: value}), headers=HTMX)
    html = answer.content.decode()
    assert answer.status_code == 422
    at_the_field = html.partition(f'id="part-{part.pk}-{field}-said"')[2].partition("</span>")[0]
    assert message in at_the_field
    part.refresh_from_db()
    assert (part.name, part.version) == ("Part 1", 1)


def test_a_slot_whose_exercise_was_withdrawn_says_so_in_its_place(coach, slot, session):
    type(slot.exercise).objects.filter(pk=slot.exercise_id).update(status="retired")
    html = coach.get(url("build", session)).content.decode()
    assert "Exercise 1a is not published. Take another exercise." in html


def test_a_dose_that_no_longer_suits_a_changed_exercise_says_so_and_takes_no_time(coach, cast):
    session = session_of(cast.cohort, parts=0)
    exercise = ExerciseFactory(revision__measure="seconds", revision__tempo="")
    SlotFactory(part=PartFactory(session=session), exercise=exercise, tempo="3-1-1-0")
    html = coach.get(url("build", session)).content.decode()
    assert "A tempo times repetitions; a dose in seconds has none." in html
    assert builder_of(session).panel.minutes == 0


def test_a_dose_beyond_the_usual_range_is_pointed_out_but_allowed(coach, slot, session):
    coach.post(url("slot", session, slot.pk), typed(slot, amount="20"), headers=HTMX)
    html = coach.get(url("build", session)).content.decode()
    assert "more than the usual 5 to 12" in html


STRANGERS = ["other_coach", "guardian", "athlete", "nobody"]


@pytest.mark.parametrize("who", STRANGERS)
def test_whoever_may_not_see_a_session_is_told_that_it_does_not_exist(
    cast, client_for, session, slot, who
):
    client = client_for(getattr(cast, who))
    part = session.parts.first()
    reads = [url("build", session), url("session_facts", session), url("find", session, part.pk)]
    writes = [
        url(name, session, *row)
        for name, row in [
            ("publish", ()),
            ("session_duplicate", ()),
            ("session_take_out", ()),
            ("part_new", ()),
            ("part", (part.pk,)),
            ("part_move", (part.pk,)),
            ("part_duplicate", (part.pk,)),
            ("part_take_out", (part.pk,)),
            ("slot_new", (part.pk,)),
            ("slot", (slot.pk,)),
            ("slot_move", (slot.pk,)),
            ("slot_duplicate", (slot.pk,)),
            ("slot_take_out", (slot.pk,)),
        ]
    ]
    sent = typed(slot, way="up", kind="superset", exercise=slot.exercise_id)
    assert {client.get(address).status_code for address in reads} == {404}
    assert {client.post(address, sent).status_code for address in writes} == {404}
    session.refresh_from_db()
    assert session.version == 1


def test_a_slot_is_looked_up_through_its_session(coach, cast, slot, session):
    other = session_of(cast.cohort)
    assert coach.post(url("slot", other, slot.pk), typed(slot, amount="9")).status_code == 404
    assert coach.get(url("part", other, slot.part_id)).status_code == 404


def test_the_head_coach_builds_for_every_cohort(cast, client_for, session):
    assert client_for(cast.head_coach).get(url("build", session)).status_code == 200


def test_someone_signed_out_is_asked_to_sign_in(client, session):
    assert client.get(url("build", session)).url.startswith(reverse("account_login"))
