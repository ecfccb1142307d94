"""More of the same exercise, and word to the family of what was learnt. It is Wednesday evening."""

import datetime as dt
from types import SimpleNamespace

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.models import Placement
from program.models import AssignedSlot, DoseRaise, PainReport, Resolution
from program.publish.publishing import publish
from tests.support.factories import (
    BlockFactory,
    ExerciseFactory,
    PartFactory,
    PathwayFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.family import EVENING, WEDNESDAY, text
from tests.support.queue import did, labels, pathway_of_three, press, put, waiting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening", "nothing_to_agree_to")]

DAY = dt.timedelta(days=1)
REVIEW = "/review/"


@pytest.fixture
def squats():
    return pathway_of_three()


def two_more(cast, exercise, amount, days=(6, 3)):
    """Two more than this amount, which was asked, and twice."""
    for days_ago in days:
        session = did(
            cast.child, cast.guardian, days_ago, [(exercise, {"amount": amount + 2})], effort=5
        )
        session.slots.update(amount=amount)


@pytest.fixture
def room(cast, squats):
    """Two more than six, where eight are usual: two more before anything harder."""
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    two_more(cast, squats.squat, 6)
    return waiting(cast.coach)[0]


@pytest.fixture
def published(cast, squats):
    """Six squats on Friday, sent."""
    session = SessionFactory(block=BlockFactory(cohort=cast.cohort), date=WEDNESDAY + 2 * DAY)
    slot = SlotFactory(part=PartFactory(session=session), exercise=squats.squat, amount=6)
    publish(session, cast.coach, timezone.now())
    return slot


def gets(slot) -> list[int]:
    return list(AssignedSlot.objects.filter(written_slot=slot).values_list("amount", flat=True))


def take_back(client):
    return client.post(reverse("program:answer_back", args=[Resolution.objects.first().pk]), {})


def test_nothing_is_raised_where_nobody_has_seen_the_child_yet(cast, squats):
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    cast.child.placements.update(is_seen=False)
    two_more(cast, squats.squat, 6)
    assert waiting(cast.coach) == []


def test_room_for_more_is_found_with_its_number_and_the_logs_it_rests_on(cast, room):
    assert room.headline == "Room for a little more of Squat"
    assert room.evidence == (
        "Squat: 8 instead of 6. Two more than the 6 asked, two sessions in a row.",
    )
    assert labels(room) == ["Add it", "Not yet"]
    assert [log.day for log in room.logs] == ["Thu 29 Oct", "Sun 1 Nov"]


def test_accepting_it_changes_what_is_not_started_and_survives_publishing_again(
    cast, coach, squats, room, published, django_capture_on_commit_callbacks
):
    assert gets(published) == [6]
    with django_capture_on_commit_callbacks(execute=True):
        press(coach, room, room.actions[0].code)
    assert gets(published) == [8]
    publish(published.part.session, cast.coach, timezone.now())
    assert gets(published) == [8]
    kept = DoseRaise.objects.get()
    assert (kept.amount, kept.set_by, kept.set_at) == (2, cast.coach, EVENING)
    assert waiting(cast.coach) == []


def test_taking_it_back_gives_what_is_written(
    cast, coach, room, published, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        press(coach, room, room.actions[0].code)
        take_back(coach)
    assert DoseRaise.objects.count() == 0
    assert gets(published) == [6]
    assert [each.key for each in waiting(cast.coach)] == [room.key]


def test_a_second_raise_adds_to_the_first_and_needs_new_logs(cast, coach, squats, room):
    press(coach, room, room.actions[0].code)
    DoseRaise.objects.update(set_at=EVENING - 5 * DAY)
    Resolution.objects.all().delete()
    assert waiting(cast.coach) == []  # one of the two logs is older than the raise
    DoseRaise.objects.update(set_at=EVENING - 20 * DAY)
    (again,) = waiting(cast.coach)
    press(coach, again, again.actions[0].code)
    assert DoseRaise.objects.get().amount == 4
    take_back(coach)
    kept = DoseRaise.objects.get()
    assert (kept.amount, kept.set_at) == (2, EVENING - 20 * DAY)


def test_several_exercises_are_one_finding_and_may_be_added_to_one_by_one(
    cast, coach, squats, room
):
    other = pathway_like(squats, "row")
    put(cast.child, other.pathway, other.squat, cast.coach)
    two_more(cast, other.squat, 6, days=(5, 2))
    (both,) = waiting(cast.coach)
    assert both.headline == "Room for a little more of two exercises"
    assert labels(both) == ["Add to all", "Only Squat", f"Only {other.squat}", "Not yet"]
    press(coach, both, both.actions[2].code)
    assert DoseRaise.objects.get().placement.exercise == other.squat
    (left,) = waiting(cast.coach)
    assert left.headline == "Room for a little more of Squat"


def pathway_like(squats, slug):
    low, middle, high = (
        ExerciseFactory(slug=f"{slug}-{n}", revision__sides="both") for n in range(3)
    )
    return SimpleNamespace(
        squat=middle, pathway=PathwayFactory(slug=slug, name="Row", chain=[low, middle, high])
    )


def test_nothing_is_added_for_a_child_that_works_on_something_else_by_now(
    cast, coach, squats, room, monkeypatch
):
    monkeypatch.setattr("program.review.views.queue.open_finding", lambda *found: room)
    put(cast.child, squats.pathway, squats.deep, cast.coach, days_ago=0)
    press(coach, room, room.actions[0].code)
    assert DoseRaise.objects.count() == Resolution.objects.count() == 0
    assert "The child works on something else by now." in text(coach.get(REVIEW))


def test_moving_on_ends_the_raise_with_the_placement(cast, coach, squats, room):
    press(coach, room, room.actions[0].code)
    put(cast.child, squats.pathway, squats.deep, cast.coach, days_ago=0)
    current = Placement.objects.current().get(child=cast.child)
    assert not hasattr(current, "dose_raise")


# What the family reads.


@pytest.fixture
def ready(cast, squats):
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    two_more(cast, squats.squat, 8)
    return waiting(cast.coach)[0]


def day_of(cast, client_for) -> str:
    return text(
        client_for(cast.guardian).get(reverse("program:child_day", args=[cast.child.public_id]))
    )


def test_moving_on_shows_the_family_what_was_learnt_for_two_weeks(
    cast, coach, client_for, ready, monkeypatch
):
    said = (
        "Mira has learnt squat: steady and under control, two sessions in a row. That comes from "
        "practising with care. Next is deep squat."
    )
    assert said not in day_of(cast, client_for)
    press(coach, ready, "place:deep-squat")
    assert said in day_of(cast, client_for)
    did(cast.child, cast.guardian, 0)
    assert said in day_of(cast, client_for)
    Resolution.objects.update(at=EVENING - 15 * DAY)
    assert said not in day_of(cast, client_for)


def test_praise_goes_when_moving_on_is_taken_back(cast, coach, client_for, ready):
    press(coach, ready, "place:deep-squat")
    take_back(coach)
    assert "has learnt" not in day_of(cast, client_for)


def test_nobody_is_praised_for_moving_on_through_pain(cast, coach, client_for, ready):
    """A knee told of after the session, before it was praised or since: telling is what was right,
    and the place is not said again."""
    press(coach, ready, "place:deep-squat")
    assert "steady and under control" in day_of(cast, client_for)
    PainReport.objects.create(
        child=cast.child, region="knee", level=4, reported_at=EVENING - 3 * DAY
    )
    page = day_of(cast, client_for)
    assert "has learnt" not in page
    assert page.count("When something hurt, we were told, and that is just right.") == 1
    PainReport.objects.update(reported_at=EVENING - 20 * DAY)
    assert "has learnt" in day_of(cast, client_for)
    PainReport.objects.update(
        reported_at=EVENING, taken_back_at=EVENING, taken_back_because="Her sister's knee."
    )
    assert "has learnt" in day_of(cast, client_for)


def test_stepping_back_is_no_occasion(cast, coach, client_for, squats):
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    for days_ago in (6, 3):
        short = [(squats.squat, {"amount": 4, "state": "some"})]
        did(cast.child, cast.guardian, days_ago, short, effort=6)
    (back,) = waiting(cast.coach)
    press(coach, back, "place:sit-to-stand")
    assert "has learnt" not in day_of(cast, client_for)


def test_a_session_a_finding_rests_on_is_one_link_away(cast, coach, ready):
    page = coach.get(REVIEW).content.decode()
    for log in ready.logs:
        address = reverse("program:session_review", args=[cast.child.public_id, log.session])
        assert f'href="{address}"' in page
    read = text(coach.get(address))
    assert "Squat" in read
    assert "Effort 5 of 10" in read
