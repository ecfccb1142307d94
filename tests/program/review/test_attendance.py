"""Attendance per cohort and child, against what counts."""

import datetime as dt

import pytest
from django.urls import reverse

from program.log.logbook import LogEntry, write_log
from tests.support.factories import (
    AssignedSessionFactory,
    BlockFactory,
    ChildFactory,
    CompletionFactory,
    SessionFactory,
)
from tests.support.family import EVENING, WEDNESDAY, assign, text
from tests.support.planning import queries_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]
ADDRESS = "program:attendance"


def log(session, by, state="done") -> None:
    entry = LogEntry(state=state)
    write_log(session, entry, by=by, now=EVENING, seen=session.mark)


def attended(client) -> str:
    return text(client.get(reverse(ADDRESS)))


def happened(child, *told):
    """A session every second day up to the day before yesterday; each "done", "", or why not."""
    for n, each in enumerate(told):
        session = assign(child, WEDNESDAY - dt.timedelta(days=2 * (len(told) - n)))
        if each:
            state = each if each in {"done", "some", "not"} else "not"
            absence = "" if state == each else each
            CompletionFactory(
                assigned_session=session, state=state, absence=absence, logged_at=EVENING
            )


def test_the_denominator_is_what_could_be_done(cast, client_for):
    """Mira: of six that count two were done and one in part; one was not, one was silent and one
    without a word. Sick and away do not count. Zoe: one of one. Together three of seven."""
    happened(cast.child, "done", "some", "", "no_word", "sick", "away", "not", "done")
    happened(ChildFactory(given_name="Zoe", cohort=cast.cohort), "done")
    page = text(client_for(cast.coach).get(reverse(ADDRESS)))
    assert "Mira T. 2 of 6 1 1 1 1 1 1 – –" in page
    assert "Zoe T. 1 of 1 – – – – – – – –" in page
    told = "3 of 7 sessions done, some of it in 1, 3 not done; 2 do not count (1 sick, 1 away)."
    assert told in page
    assert "Ivo" not in page


def test_a_larger_cohort_takes_no_more_queries(cast, client_for):
    client = client_for(cast.coach)
    happened(cast.child, "done", "sick")
    before = queries_of(client, reverse(ADDRESS))
    for n in range(12):
        happened(ChildFactory(given_name=f"Kid{n}", cohort=cast.cohort), "done", "", "no_word")
    assert queries_of(client, reverse(ADDRESS)) == before <= 12


def test_attendance_counts_what_was_assigned_and_could_be_done(cast, client_for):
    """One done, one in part, one not, and one of four days ago that nobody logged: 1 of 4.
    Yesterday's session may still be logged; the one that waits for the coach does not count."""
    log(assign(cast.child, WEDNESDAY - dt.timedelta(days=9)), cast.guardian)
    log(assign(cast.child, WEDNESDAY - dt.timedelta(days=7)), cast.guardian, state="some")
    log(assign(cast.child, WEDNESDAY - dt.timedelta(days=5)), cast.guardian, state="not")
    for days in (4, 1):
        assign(cast.child, WEDNESDAY - dt.timedelta(days=days))
    assign(cast.child, WEDNESDAY - dt.timedelta(days=6), closed_at=EVENING)
    assign(cast.other_child, WEDNESDAY - dt.timedelta(days=4))
    read = attended(client_for(cast.coach))
    assert (
        "Own cohort 1 of 4 sessions done, some of it in 1, 2 not done; 1 does not count "
        "(1 that stayed closed)."
    ) in read
    assert "Mira T. 1 of 4 1 1 1 – – – 1" in read
    assert "Other cohort" not in read


def test_children_stand_in_the_order_of_names_and_never_of_shares(cast, client_for):
    for name in ("Zoe", "Anna"):
        child = ChildFactory(given_name=name, cohort=cast.cohort)
        session = assign(child, WEDNESDAY - dt.timedelta(days=4))
        if name == "Zoe":
            log(session, cast.coach)
    read = attended(client_for(cast.coach))
    assert read.index("Anna T. 0 of 1") < read.index("Zoe T. 1 of 1")


def test_another_cohorts_sessions_are_not_counted_though_the_child_is_shared(cast, client_for):
    log(assign(cast.other_child, WEDNESDAY - dt.timedelta(days=4)), cast.head_coach)
    cast.other_child.enrolments.create(cohort=cast.cohort, start=WEDNESDAY)
    log(assign(cast.child, WEDNESDAY - dt.timedelta(days=4)), cast.coach)
    read = attended(client_for(cast.coach))
    assert "Own cohort 1 of 1" in read
    assert "Ivo" not in read
    assert "Other cohort" not in read


def test_whoever_was_not_sent_a_session_stands_there_with_how_many(cast, client_for):
    """Zoe was sent neither of two published sessions, Mira one of them."""
    block = BlockFactory(cohort=cast.cohort)
    ChildFactory(given_name="Zoe", cohort=cast.cohort)
    for days in (6, 4):
        session = SessionFactory(
            block=block,
            date=WEDNESDAY - dt.timedelta(days=days),
            published_at=EVENING,
            published_version=1,
        )
    AssignedSessionFactory(session=session, child=cast.child, date=session.date)
    read = attended(client_for(cast.coach))
    assert "Mira T. 0 of 1 – – 1 – – – – 1" in read
    assert "Zoe T. 0 of 0 – – – – – – – 2" in read
