"""A guardian's sessions as an iCalendar feed (RFC 5545).

A day with a session is an all-day event, so it falls on the same day in the family's own time zone
wherever it is read. The feed holds names and days, and nothing about anybody's health.
"""

import datetime as dt
import uuid
from collections.abc import Callable, Iterable
from typing import Any, Final

from django.utils import timezone
from icalendar import Calendar, Event

from athletes.loaders import children_of
from athletes.models import User
from library.shared.acting import acting_for_the_program
from program.common.wording import minutes
from program.models import AssignedSession, CalendarFeed, TakenOutSession

DAYS_BACK: Final = 30
ZERO: Final = dt.datetime(2020, 1, 1, tzinfo=dt.UTC)


def feed_of(user: User) -> CalendarFeed | None:
    return CalendarFeed.objects.filter(guardian=user).first()


def make_feed(user: User, now: dt.datetime) -> CalendarFeed:
    """A new address. The one before, if there was one, stops working."""
    return CalendarFeed.objects.give(user, uuid.uuid4(), now)


def revoke(user: User) -> None:
    CalendarFeed.objects.filter(guardian=user).delete()


def on_switched_off(person: User, **signal: Any) -> None:
    """Receiver of `athletes.signals.switched_off`."""
    revoke(person)


def calendar_of(user: User, today: dt.date, link: Callable[[AssignedSession], str]) -> bytes:
    """The feed. `link` gives the absolute address of a session's page, which asks for sign-in."""
    children = children_of(user)
    since = today - dt.timedelta(days=DAYS_BACK)
    sessions = AssignedSession.objects.visible_to(user).filter(child__in=children, date__gte=since)
    there = list(sessions.select_related("child", "session", "completion"))
    gone = TakenOutSession.objects.visible_to(user).filter(child__in=children, date__gte=since)
    events = [_event(each, link(each)) for each in there]
    ids = {each.public_id for each in there}
    events += [
        _cancelled(each) for each in gone.select_related("child") if each.public_id not in ids
    ]
    return _calendar(events)


def _calendar(events: Iterable[Event]) -> bytes:
    calendar = Calendar()
    calendar.add("prodid", "-//Fledge//Sessions//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", "Fledge")
    calendar.add("x-wr-timezone", timezone.get_default_timezone_name())
    calendar.add("refresh-interval", dt.timedelta(hours=4), {"value": "DURATION"})
    for event in events:
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _event(session: AssignedSession, link: str) -> Event:
    called_off_at = session.session.called_off_at if session.is_called_off else None
    event = _base(session, called_off_at or session.published_at)
    if called_off_at:
        event.add("status", "CANCELLED")
    event.add("summary", f"{session.child.given_name}: {session.name}")
    event.add("description", f"About {minutes(session.seconds)} minutes. {link}")
    event.add("url", link)
    if session.place == "venue":
        event.add("location", "at the venue")
    return event


def _cancelled(taken_out: TakenOutSession) -> Event:
    event = _base(taken_out, taken_out.taken_out_at)
    event.add("summary", f"{taken_out.child.given_name}: {taken_out.name}")
    event.add("status", "CANCELLED")
    return event


def _base(session: AssignedSession | TakenOutSession, changed: dt.datetime) -> Event:
    """Published anew, a session keeps its id: the same event with a higher sequence."""
    event = Event()
    event.add("uid", f"{session.public_id}@fledge")
    event.add("dtstart", session.date)
    event.add("dtend", session.date + dt.timedelta(days=1))
    event.add("dtstamp", changed.astimezone(dt.UTC))
    event.add("last-modified", changed.astimezone(dt.UTC))
    event.add("sequence", int((changed - ZERO).total_seconds()))
    event.add("transp", "TRANSPARENT")
    return event


def on_session_deleted(instance: AssignedSession, origin: Any, **_: Any) -> None:
    """Remember what calendars still show, unless the child is being deleted with it. Of a child
    that has left the cohort, too, whose session whoever publishes anew takes back unseen."""
    if _model_of(origin) is not AssignedSession:
        return
    with acting_for_the_program():
        TakenOutSession.objects.update_or_create(
            public_id=instance.public_id,
            defaults={
                "child_id": instance.child_id,
                "name": instance.name,
                "date": instance.date,
                "taken_out_at": timezone.now(),
            },
        )


def _model_of(origin: Any) -> type | None:
    """Of what was asked to be deleted: a row, or a QuerySet of rows."""
    return getattr(origin, "model", type(origin))
