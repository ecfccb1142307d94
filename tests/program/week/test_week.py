"""The coach's week: what is planned, published and done, and who needs a look."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from program.models import Break, PainReport, Session
from program.week.page import week_of
from tests.support.factories import (
    MONDAY,
    AssignedSessionFactory,
    BlockFactory,
    ChildFactory,
    CohortFactory,
    CompletionFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.family import EVENING
from tests.support.planning import MOST_QUERIES, assert_well_made, queries_of

pytestmark = pytest.mark.django_db

WEEK = reverse("program:week")
TUESDAY, WEDNESDAY, FRIDAY = (MONDAY + dt.timedelta(days=n) for n in (1, 2, 4))


@pytest.fixture
def block(cast):
    return BlockFactory(cohort=cast.cohort, name="Autumn")


def written(block, date=WEDNESDAY, **details):
    session = SessionFactory(block=block, date=date, **details)
    SlotFactory(part__session=session)
    return session


def published(block, date=MONDAY, **details):
    details = {"published_at": timezone.now(), "published_version": 1} | details
    return written(block, date, **details)


def logged(session, child, state):
    return CompletionFactory(
        assigned_session=AssignedSessionFactory(session=session, child=child),
        state=state,
        logged_at=timezone.now(),
    )


def hurt(child, **details):
    details = {"reported_at": timezone.now()} | details
    return PainReport.objects.create(child=child, region="knee", side="left", level=6, **details)


def own_week(cast, today=WEDNESDAY, monday=MONDAY):
    return week_of(cast.coach, monday, today).cohorts[0]


def told(cast, **when):
    return [(one.word, one.sentence) for one in own_week(cast, **when).notes]


def test_a_coach_sees_the_own_cohorts_only(coach, cast, block):
    BlockFactory(cohort=cast.other_cohort, name="Not mine")
    html = coach.get(WEEK, {"of": "2026-11-04"}).content.decode()
    assert_well_made(html)
    assert "Own cohort" in html
    assert "Other cohort" not in html
    assert "Not mine" not in html


def test_the_head_coach_sees_every_cohort(cast):
    assert len(week_of(cast.head_coach, MONDAY, MONDAY).cohorts) == 2


def test_families_have_no_such_page(cast, client_for):
    for who in (cast.guardian, cast.athlete, cast.nobody):
        assert client_for(who).get(WEEK).status_code == 404


def test_home_is_the_week_for_a_coach_and_the_children_for_a_family(cast, client_for):
    home = reverse("program:home")
    assert client_for(cast.coach).get(home).url == WEEK
    assert client_for(cast.guardian).get(home).url == reverse("program:family")


def test_what_children_logged_is_counted_child_by_child(cast, block):
    session = published(block)
    for state in ("done", "done", "some", "not"):
        logged(session, ChildFactory(cohort=cast.cohort), state)
    AssignedSessionFactory(session=session, child=cast.child)
    [one] = own_week(cast).sessions
    assert one.logged.sentence == "4 of 5 logged: 2 done, 1 some of it, 1 not done"
    assert own_week(cast).children == 5


def test_sessions_stand_in_the_order_of_their_days(cast, block):
    dates = [FRIDAY, MONDAY, WEDNESDAY]
    for date in dates:
        written(block, date)
    assert [one.session.date for one in own_week(cast).sessions] == sorted(dates)


def test_two_pain_reports_of_one_child_do_not_count_its_session_twice(cast, block):
    session = published(block)
    completion = logged(session, cast.child, "done")
    for _ in range(2):
        hurt(cast.child, assigned_session=completion.assigned_session)
    [one] = own_week(cast).sessions
    assert (one.logged.assigned, one.logged.done, one.logged.hurt) == (1, 1, 2)


@pytest.mark.parametrize(
    ("date", "states", "mark"),
    [
        (MONDAY, ["done", "done"], "done"),
        (MONDAY, ["done", "some"], "half"),
        (MONDAY, ["done", None], "half"),
        (MONDAY, [None, None], "missed"),
        (WEDNESDAY, [None, None], "not_yet"),
        (FRIDAY, [None], "not_yet"),
    ],
)
def test_a_days_mark_says_what_became_of_it(cast, block, date, states, mark):
    session = published(block, date)
    for state in states:
        child = ChildFactory(cohort=cast.cohort)
        if state:
            logged(session, child, state)
        else:
            AssignedSessionFactory(session=session, child=child)
    [one] = own_week(cast).sessions
    assert one.mark == mark


def test_pain_comes_before_everything_else_until_somebody_has_seen_it(cast, block):
    written(block, MONDAY)
    report = hurt(cast.child, reported_at=EVENING)
    assert told(cast)[0] == ("hurt", "Mira T.: left knee, 6 of 10, Wed 4 Nov.")
    report.answered_at = timezone.now()
    report.save()
    assert "hurt" not in [word for word, _ in told(cast)]


def test_many_reports_are_named_up_to_three_and_then_counted(cast, block):
    for _ in range(5):
        hurt(ChildFactory(cohort=cast.cohort))
    sentences = [sentence for word, sentence in told(cast) if word == "hurt"]
    assert len(sentences) == 4
    assert sentences[-1] == "2 more reports of something that hurts."


def test_pain_of_a_child_who_left_the_cohort_or_is_in_another_is_not_told_here(cast, block):
    cast.child.enrolments.update(end=MONDAY - dt.timedelta(days=1))
    hurt(cast.child)
    hurt(cast.other_child)
    assert "hurt" not in [word for word, _ in told(cast)]


def test_a_session_edited_after_publishing_is_pointed_out(cast, block):
    session = published(block, FRIDAY, name="Quiet landings")
    AssignedSessionFactory(session=session, child=cast.child)
    assert told(cast) == []
    Session.objects.filter(pk=session.pk).update(version=2)
    sentence = "Quiet landings was edited after it went out. Families still have the old one."
    assert told(cast) == [("edited", sentence)]


@pytest.mark.parametrize(
    ("today", "is_told"), [(MONDAY, False), (TUESDAY, True), (WEDNESDAY, True), (FRIDAY, True)]
)
def test_a_session_not_out_by_the_day_before_is_pointed_out(cast, block, today, is_told):
    written(block, WEDNESDAY, name="Strong steps")
    sentence = "Strong steps is for Wednesday and has not gone out."
    assert told(cast, today=today) == ([("not out", sentence)] if is_told else [])


def test_a_session_without_an_exercise_is_pointed_out(cast, block):
    SessionFactory(block=block, date=FRIDAY, name="Skip and reach")
    assert told(cast) == [("empty", "Skip and reach on Friday has no exercise yet.")]


def test_children_who_logged_nothing_are_counted_from_the_day_after(cast, block):
    session = published(block, MONDAY, name="Quiet landings")
    AssignedSessionFactory(session=session, child=cast.child)
    assert told(cast, today=MONDAY) == []
    sentence = "1 child logged nothing for Quiet landings on Monday."
    assert told(cast, today=TUESDAY) == [("missed", sentence)]


def test_a_week_of_holidays_that_were_entered_lacks_nothing(cast):
    whole = {"first": MONDAY, "last": MONDAY + dt.timedelta(days=6)}
    Break.objects.create(name="Tournament", cohort=cast.other_cohort, **whole)
    assert told(cast) == [("no block", "No block covers this week.")]
    Break.objects.create(name="Autumn holidays", **whole)
    assert told(cast) == []


def test_an_empty_week_offers_what_is_missing(cast):
    assert told(cast) == [("no block", "No block covers this week.")]
    BlockFactory(cohort=cast.cohort)
    assert told(cast) == [("no session", "Nothing is planned for this week.")]
    a_week_later = {"today": MONDAY + dt.timedelta(days=7), "monday": MONDAY}
    assert told(cast, **a_week_later) == []


def test_a_coach_without_a_cohort_reads_why_nothing_is_there(cast, client_for):
    cast.cohort.coaches.clear()
    html = client_for(cast.coach).get(WEEK).content.decode()
    assert "Ask the head coach to give you one." in html


def test_the_weeks_before_and_after_are_a_link_away(coach, block):
    html = coach.get(WEEK, {"of": "2026-11-05"}).content.decode()
    assert f"{WEEK}?of=2026-10-26" in html
    assert f"{WEEK}?of=2026-11-09" in html


@pytest.mark.parametrize("of", ["", "soon", "9999-12-31", "0001-01-01", "2026-02-30"])
def test_a_day_that_is_none_shows_this_week(coach, of):
    assert "<h1>This week</h1>" in coach.get(WEEK, {"of": of}).content.decode()


def test_more_cohorts_sessions_children_and_logs_cost_no_more_queries(coach, cast, block):
    def fill(block, children):
        session = published(block)
        for _ in range(children):
            child = ChildFactory(cohort=block.cohort)
            hurt(child)
            logged(session, child, "done")

    fill(block, 1)
    address = f"{WEEK}?of={MONDAY}"
    few = queries_of(coach, address)
    for _ in range(3):
        fill(BlockFactory(cohort=CohortFactory(coached_by=[cast.coach])), 4)
    assert queries_of(coach, address) == few <= MOST_QUERIES
