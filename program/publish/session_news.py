"""Families hear that a session is there, that what was still to come of it is, and what a coach
writes to it, each as they like: at once, in the evening or never.

What is to be told is written with the session that is sent, whether a coach publishes it or it is
chosen anew; one mail tells of all that is new by then, and ticks it off in its transaction.
"""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import groupby
from typing import Final

from django.db import transaction
from django.db.models import Exists, OuterRef
from django.urls import reverse
from django.utils import timezone

from athletes.loaders import families_of
from athletes.mailing import notice, send_after_commit
from athletes.models import OutgoingMail, SessionMail, User
from library.shared.task_queue import Queue, enqueue, task
from program.models import AssignedSession, Session, SessionNews

GATHERING: Final = dt.timedelta(minutes=10)
"""A coach sends the sessions of a week one after the other: they are one mail. A house rule."""
EVENINGS: Final = (18, 21)
"""O’clock. What is sent after the first of them is often for the next morning: it does not wait
until the evening after."""
MAIL: Final = "program/publish/mail/new_sessions.txt"
WHAT: Final = SessionNews.What
SENTENCES: Final = {
    WHAT.NEW: "There are new sessions for {}:",
    WHAT.REST: "What was still to come of a session of {}’s is there now:",
    WHAT.NOTE: "The coach has written something to a session of {}’s:",
}
"""Of a child, in the order of a mail."""
A_MINUTE: Final = dt.timedelta(minutes=1)
"""By which the clocks of server and database may differ."""


def evening_after(now: dt.datetime) -> dt.datetime:
    local = timezone.localtime(now)
    for hour in EVENINGS:
        if local.hour < hour:
            return _at(local.date(), hour)
    return _at(local.date() + dt.timedelta(days=1), EVENINGS[0])


def _at(day: dt.date, hour: int) -> dt.datetime:
    return timezone.make_aware(dt.datetime.combine(day, dt.time(hour)))


def write_news(
    session: Session, news: Mapping[SessionNews.What, Collection[int]], now: dt.datetime
) -> None:
    """What the families of these children, by key, are to be told of a session. Within the
    transaction that sends it; nothing of one that no page has published."""
    concerned = {child: what for what, children in news.items() for child in children}
    if not concerned or not session.published_from or session.date < timezone.localdate(now):
        return
    due = {SessionMail.AT_ONCE: now + GATHERING, SessionMail.EVENING: evening_after(now)}
    told = [
        SessionNews(
            session=session,
            child_id=child,
            person=person,
            what=concerned[child],
            due_at=due[SessionMail(person.session_mail)],
        )
        for person, child in families_of(concerned)
        if person.hears_of_sessions
    ]
    _store([each for each in told if each.what != WHAT.NEW], session)
    new = [each for each in told if each.what == WHAT.NEW]
    SessionNews.objects.bulk_create(new, ignore_conflicts=True)
    for at in sorted({each.due_at for each in told}):
        enqueue(tell_of_new_sessions, lock="session-news", at=at, origin=session.published_from)


def _store(news: Collection[SessionNews], session: Session) -> None:
    """In the place of what was told before; whoever is still to be told that it is there will find
    this, too."""
    if not news:
        return
    untold = SessionNews.objects.untold().filter(session=session)
    waiting = set(untold.values_list("person", "child"))
    SessionNews.objects.bulk_create(
        (each for each in news if (each.person_id, each.child_id) not in waiting),
        update_conflicts=True,
        unique_fields=["session", "child", "person"],
        update_fields=["what", "due_at", "told_at"],
    )


def is_no_news(session: Session, now: dt.datetime) -> None:
    """Its families are told of it in another way."""
    SessionNews.objects.untold().filter(session=session).update(told_at=now)


@task("program.tell_of_new_sessions", Queue.CHANGES)
@transaction.atomic
def tell_of_new_sessions(origin: str) -> None:
    """One mail to everybody for whom something is due, of all that is new to them by now. Done
    twice, it finds nothing the second time."""
    now = timezone.now()
    _let_go_of_what_was_taken_back()
    untold = SessionNews.objects.untold()
    due = untold.filter(due_at__lte=now + A_MINUTE).values("person")
    found = untold.filter(person__in=due).select_related("person", "child", "session")
    news = list(
        found.select_for_update(of=("self",)).order_by("person", "session__date", "child", "pk")
    )
    SessionNews.objects.filter(pk__in=[each.pk for each in news]).update(told_at=now)
    mails = [
        _mail(origin, person, list(theirs))
        for person, theirs in groupby(_still_new(news, now), key=lambda each: each.person)
    ]
    send_after_commit(mails)


def _let_go_of_what_was_taken_back() -> None:
    """Sent again, it is news again."""
    there = AssignedSession.objects.filter(session=OuterRef("session"), child=OuterRef("child"))
    SessionNews.objects.untold().filter(~Exists(there)).delete()


def _still_new(news: Iterable[SessionNews], now: dt.datetime) -> list[SessionNews]:
    """What is still to come and not begun, for those who are still to be told."""
    news = [each for each in news if each.session.date >= timezone.localdate(now)]
    told = {
        (person.pk, child)
        for person, child in families_of({each.child_id for each in news})
        if person.hears_of_sessions
    }
    there = AssignedSession.objects.open().untouched()
    sessions = there.filter(session__in={each.session_id for each in news})
    open_to = set(sessions.values_list("session", "child"))
    return [
        each
        for each in news
        if (each.person_id, each.child_id) in told and (each.session_id, each.child_id) in open_to
    ]


def _mail(origin: str, person: User, news: Sequence[SessionNews]) -> OutgoingMail:
    is_new = any(each.what == WHAT.NEW for each in news)
    subject = "New sessions" if is_new else "About a session"
    return notice(origin, person, subject, MAIL, {"lines": _lines(news, origin)})


def _lines(news: Iterable[SessionNews], origin: str) -> list[dict[str, str]]:
    """Of each child each kind once, with the day of its first."""
    first: dict[tuple[int, str], SessionNews] = {}
    for each in news:
        first.setdefault((each.child_id, each.what), each)
    return [
        {
            "sentence": SENTENCES[WHAT(each.what)].format(each.child.given_name),
            "link": origin + _day_of(each),
        }
        for each in first.values()
    ]


def _day_of(news: SessionNews) -> str:
    day = reverse("program:child_day", args=[news.child.public_id])
    return f"{day}?day={news.session.date:%Y-%m-%d}"
