import datetime as dt
import threading
import time

import pytest
from django.db import connection, transaction
from django.utils import timezone

from program.models import Session
from program.publish.publishing import Published, PublishInProgress, PublishRefused, publish
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    CompletionFactory,
    ExerciseFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)


def written_session(cohort, exercises=2) -> Session:
    part = PartFactory(session=SessionFactory(block=BlockFactory(cohort=cohort)), rounds=2)
    for position in range(exercises):
        SlotFactory(part=part, position=position)
    return part.session


def go(session, cast, **details) -> Published:
    return publish(session, by=cast.coach, now=timezone.now(), **details)


def contents(session) -> list:
    """Everything assigned, with the row ids, so that a rewritten row shows."""
    return list(session.assigned.order_by("pk").values()) + [
        list(assigned.slots.order_by("pk").values()) for assigned in session.assigned.order_by("pk")
    ]


@pytest.mark.django_db
def test_every_child_enrolled_that_day_gets_the_session(cast):
    ChildFactory(given_name="Left", cohort=cast.cohort).enrolments.update(
        end=MONDAY - dt.timedelta(days=1)
    )
    last_day = ChildFactory(given_name="LastDay", cohort=cast.cohort)
    last_day.enrolments.update(end=MONDAY)
    session = written_session(cast.cohort)
    assert go(session, cast) == Published(new=2)
    assert {a.child for a in session.assigned.all()} == {cast.child, last_day}
    assert [a.slots.count() for a in session.assigned.all()] == [2, 2]


@pytest.mark.django_db
def test_publishing_twice_changes_nothing(cast):
    session = written_session(cast.cohort)
    go(session, cast)
    before = contents(session)
    assert go(session, cast) == Published(unchanged=1)
    assert contents(session) == before


@pytest.mark.django_db
def test_publishing_after_an_edit_replaces_only_what_no_child_has_started(cast):
    started_by, logged_by, _ = (
        ChildFactory(given_name=name, cohort=cast.cohort) for name in ("Started", "Logged", "Not")
    )
    session = written_session(cast.cohort)
    go(session, cast)
    session.assigned.filter(child=started_by).update(started_at=timezone.now())
    CompletionFactory(
        assigned_session=session.assigned.get(child=logged_by),
        state="done",
        logged_at=timezone.now(),
    )
    session.parts.get().slots.filter(position=0).update(amount=11)
    assert go(session, cast) == Published(replaced=2, kept=2)
    amounts = {
        assigned.child.given_name: assigned.slots.get(position=0).amount
        for assigned in session.assigned.select_related("child")
    }
    assert amounts == {"Mira": 11, "Not": 11, "Started": 8, "Logged": 8}


@pytest.mark.django_db
def test_a_familys_bookmark_still_opens_a_replaced_session(cast):
    session = written_session(cast.cohort)
    go(session, cast)
    bookmark = session.assigned.get().public_id
    session.parts.get().slots.filter(position=0).update(amount=11)
    go(session, cast)
    assert session.assigned.get().public_id == bookmark


@pytest.mark.django_db
def test_a_child_who_has_left_loses_what_was_not_started_and_keeps_what_was(cast):
    leaves, left_midway = (ChildFactory(cohort=cast.cohort) for _ in range(2))
    session = written_session(cast.cohort)
    go(session, cast)
    session.assigned.filter(child=left_midway).update(started_at=timezone.now())
    for child in (leaves, left_midway):
        child.enrolments.update(end=MONDAY - dt.timedelta(days=1))
    assert go(session, cast) == Published(unchanged=1, removed=1)
    assert {a.child for a in session.assigned.all()} == {cast.child, left_midway}


@pytest.mark.django_db
def test_what_was_published_does_not_change_when_the_exercise_is_rewritten(cast):
    session = written_session(cast.cohort, exercises=1)
    go(session, cast)
    exercise = session.parts.get().slots.get().exercise
    old = exercise.current
    exercise.current = exercise.revisions.create(
        **{
            field.attname: getattr(old, field.attname)
            for field in old._meta.concrete_fields
            if field.name not in {"id", "number", "search", "created_at", "name"}
        },
        number=2,
        name="Another name",
    )
    exercise.save()
    assert session.assigned.get().slots.get().revision == old


@pytest.mark.django_db
def test_an_empty_session_is_refused(cast):
    with pytest.raises(PublishRefused, match="no exercise in this session yet"):
        go(SessionFactory(block=BlockFactory(cohort=cast.cohort)), cast)


@pytest.mark.django_db
@pytest.mark.parametrize("status", ["draft", "retired"])
def test_a_session_with_an_unpublished_exercise_is_refused_and_nothing_goes_out(cast, status):
    session = written_session(cast.cohort)
    SlotFactory(
        part=session.parts.get(), position=2, exercise=ExerciseFactory(revision__status=status)
    )
    with pytest.raises(PublishRefused, match="is not published in the library"):
        go(session, cast)
    assert not session.assigned.exists()
    assert not Session.objects.get(pk=session.pk).is_published


@pytest.mark.django_db
def test_publishing_takes_as_many_queries_for_forty_children_as_for_two(
    cast, django_assert_num_queries, django_assert_max_num_queries
):
    def cost(children: int, session: Session) -> int:
        for _ in range(children):
            ChildFactory(cohort=cast.cohort)
        with django_assert_max_num_queries(40) as counted:
            go(session, cast)
        return len(counted)

    few = cost(1, written_session(cast.cohort))
    assert cost(38, written_session(cast.cohort)) == few


@pytest.mark.django_db(transaction=True)
def test_of_two_publishes_at_once_one_wins_and_the_other_says_so(cast):
    session = written_session(cast.cohort)
    answers = []

    def publish_meanwhile() -> None:
        try:
            answers.append(go(session, cast))
        except PublishInProgress:
            answers.append("somebody else is publishing")
        finally:
            connection.close()

    with transaction.atomic():
        Session.objects.select_for_update().get(pk=session.pk)
        meanwhile = threading.Thread(target=publish_meanwhile)
        meanwhile.start()
        meanwhile.join()
    assert answers == ["somebody else is publishing"]
    assert go(session, cast) == Published(new=1)


@pytest.mark.django_db(transaction=True)
def test_a_log_that_is_being_written_while_publishing_again_is_kept(cast):
    session = written_session(cast.cohort)
    go(session, cast)
    session.parts.get().slots.filter(position=0).update(amount=11)
    is_publishing = threading.Event()

    def publish_again() -> None:
        is_publishing.set()
        try:
            go(session, cast)
        finally:
            connection.close()

    with transaction.atomic():
        assigned = session.assigned.select_for_update().get()
        meanwhile = threading.Thread(target=publish_again)
        meanwhile.start()
        is_publishing.wait()
        CompletionFactory(assigned_session=assigned, state="done", logged_at=timezone.now())
        time.sleep(0.3)
    meanwhile.join()
    assert session.assigned.get().completion.state == "done"
