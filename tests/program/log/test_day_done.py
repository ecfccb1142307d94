"""On which day a session was done: asked without a tap more, and known as well as it can be.

Monday 2 November is the week's first day; it is Wednesday evening, and the session is Wednesday's.
"""

import datetime as dt
import json
import uuid
from importlib import import_module
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
from django.db import IntegrityError, connection, transaction
from django.urls import reverse

from program.log.day_done import EARLY, likely_day, said_day, unsaid_day, when
from program.log.phone_inbox import KeptLog
from program.models import AssignedSession, Completion, Submission
from tests.support.factories import MONDAY, CompletionFactory
from tests.support.family import EVENING, WEDNESDAY, assign, give, text
from tests.support.markup import fields_of

LONDON = ZoneInfo("Europe/London")
TUESDAY, THURSDAY = MONDAY + dt.timedelta(days=1), MONDAY + dt.timedelta(days=3)


def begun(day: dt.date | None) -> dt.datetime | None:
    return dt.datetime.combine(day, dt.time(17), LONDON) if day else None


def session(written_for=WEDNESDAY, *, place="home", begun_on=None) -> AssignedSession:
    return AssignedSession(date=written_for, place=place, started_at=begun(begun_on))


def logged(on: dt.date, **details) -> AssignedSession:
    assigned = session(**details)
    assigned.completion = Completion(assigned_session=assigned, state="done", done_on=on)
    return assigned


def test_what_is_likely_is_the_day_it_was_begun_or_today_and_in_the_hall_its_own():
    assert likely_day(session(MONDAY), WEDNESDAY) == WEDNESDAY
    assert likely_day(session(THURSDAY), WEDNESDAY) == WEDNESDAY
    assert likely_day(session(MONDAY, begun_on=TUESDAY), WEDNESDAY) == TUESDAY
    assert likely_day(session(MONDAY, place="venue"), WEDNESDAY) == MONDAY
    assert likely_day(session(THURSDAY, place="venue"), WEDNESDAY) == WEDNESDAY
    assert likely_day(logged(MONDAY), WEDNESDAY) == MONDAY
    assert [when(day, WEDNESDAY) for day in (WEDNESDAY, TUESDAY, MONDAY)] == [
        "today",
        "yesterday",
        "earlier",
    ]


def test_of_a_log_that_says_no_day_it_is_the_one_that_is_known_or_its_own():
    """An older page on a phone sends none: a log that stands, then a start, then the session."""
    assert unsaid_day(session(MONDAY), WEDNESDAY) == MONDAY
    assert unsaid_day(session(THURSDAY), WEDNESDAY) == WEDNESDAY
    assert unsaid_day(session(MONDAY, begun_on=TUESDAY), WEDNESDAY) == TUESDAY
    sent_with_its_start = session(MONDAY, begun_on=WEDNESDAY)
    assert unsaid_day(sent_with_its_start, WEDNESDAY) == MONDAY
    assert unsaid_day(session(MONDAY, place="venue", begun_on=TUESDAY), THURSDAY) == MONDAY
    assert unsaid_day(logged(TUESDAY, written_for=MONDAY), THURSDAY) == TUESDAY
    opened_long_before = session(WEDNESDAY, begun_on=WEDNESDAY - 2 * EARLY)
    assert unsaid_day(opened_long_before, THURSDAY) == WEDNESDAY - EARLY


def test_today_is_the_day_on_which_it_was_said_and_a_wrong_calendar_is_not_believed():
    """Said on a phone on Tuesday, sent on Thursday."""
    says = [
        ("today", None, TUESDAY, TUESDAY),
        ("yesterday", None, TUESDAY, MONDAY),
        ("earlier", MONDAY, TUESDAY, MONDAY),
        ("earlier", None, TUESDAY, None),
        ("", MONDAY, None, MONDAY),
        ("", None, None, WEDNESDAY),
        ("today", None, None, THURSDAY),
        ("today", None, dt.date(2031, 1, 1), THURSDAY),
        ("today", None, dt.date(1970, 1, 1), THURSDAY),
        ("yesterday", MONDAY, dt.date(1970, 1, 1), WEDNESDAY),
    ]
    for said, chosen, told_on, expected in says:
        assert said_day(session(), THURSDAY, said, chosen, told_on) == expected


# The form


@pytest.fixture
def mine(cast, evening):
    assigned = assign(cast.child)
    give(assigned, "Sit to stand")
    return assigned


class Family:
    def __init__(self, client, assigned):
        ids = [assigned.child.public_id, assigned.public_id]
        self.client, self.address = client, reverse("program:log", args=ids)
        self.day = reverse("program:session_day", args=ids)
        self.fields = fields_of(client.get(self.address))

    def send(self, **said):
        return self.client.post(self.address, self.fields | said)


def done_on() -> dt.date | None:
    return Completion.objects.get().done_on


@pytest.mark.django_db
def test_the_day_is_asked_without_a_tap_more(cast, client_for, mine):
    family = Family(client_for(cast.guardian), mine)
    assert (family.fields["day"], family.fields["told_on"]) == ("today", "2026-11-04")
    family.send(effort="4")
    assert done_on() == WEDNESDAY
    assert "on Wednesday" not in text(family.client.get(family.day)).partition("Logged:")[2][:60]


@pytest.mark.django_db
def test_one_tap_is_yesterday_and_a_day_may_be_chosen(cast, client_for, mine):
    Family(client_for(cast.guardian), mine).send(day="yesterday")
    assert done_on() == TUESDAY
    again = Family(client_for(cast.guardian), mine)
    assert again.fields["day"] == "yesterday"
    again.send(day="earlier", done_on=MONDAY.isoformat())
    assert done_on() == MONDAY
    again = Family(client_for(cast.guardian), mine)
    assert (again.fields["day"], again.fields["done_on"]) == ("earlier", "2026-11-02")
    assert "Logged: done, 20 minutes, on Monday 2 November." in text(again.client.get(again.day))


@pytest.mark.django_db
def test_a_day_that_cannot_be_is_refused_and_nothing_else_is_lost(cast, client_for, mine):
    family = Family(client_for(cast.guardian), mine)
    refused = family.send(day="earlier", done_on=THURSDAY.isoformat(), note="Giggles")
    assert "That day has not come yet." in text(refused)
    assert "Giggles" in text(refused)
    assert "Choose the day." in text(family.send(day="earlier", done_on=""))
    first = WEDNESDAY - EARLY
    too_early = (first - dt.timedelta(days=1)).isoformat()
    refused = family.send(day="earlier", done_on=too_early)
    assert "Choose a day from 7 October 2026 on." in text(refused)
    assert not Completion.objects.exists()
    family.send(day="earlier", done_on=first.isoformat())
    assert done_on() == first


@pytest.mark.django_db
def test_a_hidden_day_that_is_none_is_today(cast, client_for, mine):
    family = Family(client_for(cast.guardian), mine)
    family.send(told_on="the day after never")
    assert done_on() == WEDNESDAY
    assert family.send(told_on="2026-11-0\0").status_code == 200


@pytest.mark.django_db
def test_what_was_not_done_was_done_on_no_day(cast, client_for, mine):
    Family(client_for(cast.guardian), mine).send(state="not")
    assert done_on() is None
    again = Family(client_for(cast.guardian), mine)
    assert again.fields["day"] == "today"
    again.send(state="some", day="yesterday")
    assert done_on() == TUESDAY


@pytest.mark.django_db
def test_a_phone_that_was_offline_sends_the_day_as_it_stood_on_it(cast, client_for, mine):
    """It was done and logged on Monday, ahead of its day, and arrives on Wednesday."""
    sent = {"state": "done", "day": "today", "told_on": MONDAY.isoformat(), "seen": mine.mark}
    item = {
        "id": str(uuid.uuid4()),
        "kind": "log",
        "child": str(mine.child.public_id),
        "session": str(mine.public_id),
        "fields": sent,
    }
    inbox, parent = reverse("program:inbox"), client_for(cast.guardian)
    answer = parent.post(inbox, json.dumps(item), content_type="application/json")
    assert answer.json()["state"] == "written"
    assert done_on() == MONDAY
    # Another phone says Tuesday, and both are shown.
    item |= {"id": str(uuid.uuid4()), "fields": sent | {"told_on": TUESDAY.isoformat()}}
    answer = parent.post(inbox, json.dumps(item), content_type="application/json")
    assert answer.json()["state"] == "conflict"
    kept = KeptLog(Submission.objects.undecided().get())
    assert kept.says == "done, on Tue 3 Nov"


@pytest.mark.django_db
def test_the_halls_log_is_of_the_sessions_day_and_leaves_a_day_that_a_family_told(
    cast, client_for, evening
):
    hall = assign(cast.child, MONDAY, place="venue")
    coach = client_for(cast.coach)
    address = reverse("program:group_log", args=[hall.session_id])
    fields = fields_of(coach.get(address))
    line = str(cast.child.public_id)
    coach.post(address, fields | {f"{line}-presence": "there", f"{line}-effort": "5"})
    assert done_on() == MONDAY
    Completion.objects.update(done_on=TUESDAY)
    fields = fields_of(coach.get(address))
    coach.post(address, fields | {f"{line}-effort": "6"})
    assert (done_on(), Completion.objects.get().effort) == (TUESDAY, 6)


@pytest.mark.django_db
def test_the_database_takes_no_day_for_nothing_and_none_that_is_to_come(cast):
    wrong = [
        {"state": "not", "done_on": WEDNESDAY},
        {"state": "done", "done_on": None},
        {"state": "done", "done_on": WEDNESDAY + dt.timedelta(days=2)},
    ]
    for details in wrong:
        with pytest.raises(IntegrityError), transaction.atomic():
            CompletionFactory(assigned_session=assign(cast.child), logged_at=EVENING, **details)
    CompletionFactory(assigned_session=assign(cast.child), logged_at=EVENING, done_on=THURSDAY)


@pytest.mark.django_db
def test_what_was_logged_before_the_day_was_asked_has_the_day_it_would_be_given_now(cast):
    """Written for Monday: begun and logged on Tuesday at home, which is no word on Monday; begun on
    Tuesday and logged on Wednesday; the same in the hall; and brought forward from Thursday."""
    expected = {}
    for day, place, begun_on, logged_on, done in (
        (MONDAY, "home", TUESDAY, TUESDAY, MONDAY),
        (MONDAY, "home", TUESDAY, WEDNESDAY, TUESDAY),
        (MONDAY, "venue", TUESDAY, WEDNESDAY, MONDAY),
        (THURSDAY, "home", WEDNESDAY, WEDNESDAY, WEDNESDAY),
    ):
        assigned = assign(cast.child, day, place=place, started_at=begun(begun_on))
        assert unsaid_day(assigned, logged_on) == done
        at = dt.datetime.combine(logged_on, dt.time(23, 30), LONDON)
        log = CompletionFactory(
            assigned_session=assigned, logged_at=at, done_on=dt.date(2020, 1, 1)
        )
        expected[log.pk] = done
    missed = CompletionFactory(assigned_session=assign(cast.child), state="not", logged_at=EVENING)
    import_module("program.migrations.0062_the_day_it_was_done").fill(
        None, SimpleNamespace(connection=connection)
    )
    assert dict(Completion.objects.values_list("pk", "done_on")) == expected | {missed.pk: None}
