"""The week ahead: each cohort on one page, and everything that is ready published from there."""

import datetime as dt

import pytest
from django.db import connection, transaction
from django.urls import reverse

from athletes.models import Invitation
from program.models import AssignedSession, Break, PainReport, Question, Session, Slot
from program.publish.publishing import publish
from program.week.ahead import usual_week
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    CohortFactory,
    ExerciseFactory,
    SessionFactory,
)
from tests.support.family import EVENING, text
from tests.support.planning import (
    MOST_QUERIES_WITH_CHECKS,
    assert_well_made,
    queries_of,
    session_of,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]

NEXT = MONDAY + dt.timedelta(days=7)
PAGE = f"{reverse('program:week_ahead')}?of={NEXT}"
PUBLISH = reverse("program:publish_ahead")


def written(block, name, days=0):
    date = NEXT + dt.timedelta(days=days)
    return session_of(block.cohort, slots=1, needing=False, block=block, name=name, date=date)


def landing(block):
    """A session that a check stops: nobody is placed on landing yet."""
    session = written(block, "Hops", 2)
    exercise = ExerciseFactory(
        revision__name="Hop and freeze", revision__pattern="land", revision__contacts=1
    )
    Slot.objects.filter(part__session=session).update(exercise=exercise)
    return session


def test_a_session_that_is_called_off_is_not_ready_and_says_so(cast, block, coach):
    off = written(block, "Off", 1)
    Session.objects.filter(pk=off.pk).update(
        published_at=EVENING, published_version=0, called_off_at=EVENING
    )
    html = text(coach.get(PAGE))
    assert "Off called off" in html
    assert "Publish everything that is ready" not in html


def test_a_week_of_entered_holidays_lacks_no_session(cast, block, coach):
    Break.objects.create(name="Autumn holidays", first=NEXT, last=NEXT + dt.timedelta(days=6))
    html = text(coach.get(PAGE))
    assert "Away all week." in html
    assert "No session" not in html


@pytest.fixture
def block(cast):
    return BlockFactory(cohort=cast.cohort, ends_on=NEXT + dt.timedelta(days=30))


def send(client):
    seen = list(client.get(PAGE).context["ahead"].marks)
    return client.post(PUBLISH, {"of": str(NEXT), "seen": seen}, follow=True)


@pytest.mark.parametrize(
    ("day", "monday"), [(0, MONDAY), (3, MONDAY), (4, NEXT), (6, NEXT), (7, NEXT)]
)
def test_from_friday_on_it_is_the_next_week(day, monday):
    assert usual_week(MONDAY + dt.timedelta(days=day)) == monday


def test_each_cohort_stands_with_its_sessions_and_who_needs_a_thought(cast, coach, block):
    written(block, "Strong steps")
    SessionFactory(block=block, name="Still empty", date=NEXT)
    CohortFactory(name="Idle", coached_by=[cast.coach])
    ada = ChildFactory(given_name="Ada", cohort=cast.cohort)
    ChildFactory(given_name="Bo", cohort=cast.cohort)
    Invitation.objects.invite("ada@x.example", "guardian", cast.coach, ada)
    PainReport.objects.create(child=ada, region="knee", side="left", level=6, reported_at=EVENING)
    Question.objects.create(child=cast.child, text="May she row?", asked_at=EVENING)
    answer = coach.get(PAGE)
    assert_well_made(answer.content.decode())
    page = text(answer)
    assert "0 of 2 sessions published, 1 ready to publish; 1 cohort has no session." in page
    assert "Strong steps ready" in page
    assert "Still empty no exercise yet" in page
    assert "hurt Ada T." in page
    assert "asks Mira T." in page
    assert "not signed in Ada T. (invited) and Bo T." in page
    assert "Idle 0 children No session: no block covers this week. Make a block" in page
    assert "Other cohort" not in page


def test_everything_ready_goes_out_and_what_a_check_stops_is_not_ready_and_named_before(
    cast, coach, block
):
    written(block, "Strong steps")
    other = BlockFactory(cohort=CohortFactory(coached_by=[cast.coach]), ends_on=NEXT)
    ChildFactory(cohort=other.cohort)
    written(other, "Calm")
    stopped = landing(block)
    SessionFactory(block=block, name="Still empty", date=NEXT)
    before = coach.get(PAGE)
    page = text(before)
    assert "0 of 4 sessions published, 2 ready to publish, 1 stopped by a check." in page
    assert "Hops stopped by a check 1 child meets Hop and freeze before" in page
    assert "Mira T. is not placed on landing. Place them" in page
    assert f'<a href="/sessions/{stopped.pk}/">Open the session' in before.content.decode()
    answer = send(coach)
    page = text(answer)
    assert "Published: 2 sessions." in page
    assert "2 of 4 sessions published, 1 stopped by a check." in page
    assert "Publish everything that is ready" not in page
    assert set(AssignedSession.objects.values_list("name", flat=True)) == {"Strong steps", "Calm"}


def test_what_a_check_stops_is_ready_again_once_a_coach_has_written_why(cast, coach, block):
    session = landing(block)
    publish(session, cast.coach, EVENING, because="They land with me beside them.")
    Session.objects.filter(pk=session.pk).update(version=2)
    assert "Hops edited since publishing" in text(coach.get(PAGE))
    assert "1 ready to publish." in text(coach.get(PAGE))


def test_what_is_stopped_only_by_then_is_left_and_named(cast, coach, block, monkeypatch):
    session = landing(block)
    monkeypatch.setattr("program.week.ahead.stops_of", lambda sessions, user: {})
    answer = send(coach)
    assert "Hops, Wed 11 Nov: 1 child meets Hop and freeze" in text(answer)
    assert f'<a href="/sessions/{session.pk}/">Open the session</a>' in answer.content.decode()


def test_whoever_did_not_get_it_is_counted_with_the_way_to_decide(cast, coach, block):
    session = written(block, "Strong steps")
    cast.child.restrictions.create(
        region="", side="both", kind="nothing", start=MONDAY, until=NEXT + dt.timedelta(days=3)
    )
    ChildFactory(cohort=cast.cohort)
    answer = send(coach)
    assert "Strong steps, Mon 9 Nov: 1 child did not get it." in text(answer)
    assert f'<a href="/sessions/{session.pk}/fit/?different">Decide</a>' in answer.content.decode()


def test_a_week_changed_meanwhile_is_shown_anew_and_nothing_goes_out(cast, coach, block):
    written(block, "Strong steps")
    seen = list(coach.get(PAGE).context["ahead"].marks)
    Session.objects.update(version=2)
    answer = coach.post(PUBLISH, {"of": str(NEXT), "seen": seen}, follow=True)
    assert "Somebody changed this week since you opened it. Nothing was published." in text(answer)
    assert not AssignedSession.objects.exists()


def test_what_is_over_and_what_is_out_as_it_stands_is_left(cast, coach, block):
    session_of(cast.cohort, slots=1, needing=False, block=block, date=MONDAY)
    this_week = f"{reverse('program:week_ahead')}?of={MONDAY}"
    page = text(coach.get(this_week))
    assert "not published, its day is over" in page
    assert "Publish everything" not in page
    written(block, "Strong steps")
    send(coach)
    sent = AssignedSession.objects.get().published_at
    send(coach)
    assert AssignedSession.objects.get().published_at == sent


@pytest.mark.django_db(transaction=True)
def test_a_session_that_somebody_else_publishes_right_now_is_named(cast, coach, block):
    session, other = written(block, "Strong steps"), connection.copy()
    written(block, "Calm")
    seen = list(coach.get(PAGE).context["ahead"].marks)
    try:
        with transaction.atomic():
            other.ensure_connection()
            other.connection.execute("BEGIN")
            other.connection.execute(
                "SELECT 1 FROM program_session WHERE id = %s FOR UPDATE", [session.pk]
            )
        answer = coach.post(PUBLISH, {"of": str(NEXT), "seen": seen}, follow=True)
    finally:
        other.close()
    assert "Strong steps, Mon 9 Nov: somebody else is publishing it right now." in text(answer)
    assert AssignedSession.objects.get().name == "Calm"


def test_more_cohorts_sessions_and_children_cost_no_more_queries(cast, coach, block):
    written(block, "Strong steps")
    landing(block)
    few = queries_of(coach, PAGE)
    for n in range(3):
        more = BlockFactory(cohort=CohortFactory(coached_by=[cast.coach]), ends_on=NEXT)
        written(more, f"Calm {n}")
        landing(more)
        for _ in range(3):
            ChildFactory(cohort=more.cohort)
    assert queries_of(coach, PAGE) == few <= MOST_QUERIES_WITH_CHECKS
