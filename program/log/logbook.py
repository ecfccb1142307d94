"""Writing down what came of a session, once, whoever says it and however often.

Saying the same again changes nothing; saying something else is an edit and shows who and when.
Nobody writes over a log they have not seen. What hurt goes its own way (`log/pain_reports.py`),
before the log it came with.
A part of a session that is not spoken of went like the whole. Several children's logs are written
together or not at all.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from django.db import transaction
from django.utils import timezone

from athletes.models import User
from program.common.edit_conflicts import is_unseen
from program.log.day_done import unsaid_day
from program.models import (
    AssignedSession,
    AssignedSlot,
    Attendance,
    Completion,
    CompletionState,
    SlotResult,
)


class LogRefused(Exception):
    """Nothing was written. The message says why; `why` says it by session, by the key of each that
    stands in the way. What to do about it is for the page to say (`SAVE_AGAIN`)."""

    def __init__(self, why: Mapping[int, str]) -> None:
        super().__init__(" ".join(dict.fromkeys(why.values())))
        self.why = why


@dataclass(frozen=True)
class SlotEntry:
    """What came of one exercise; amounts are of the last round, a side each where sided."""

    slot: AssignedSlot
    state: str
    amount: int | None = None
    amount_left: int | None = None
    amount_right: int | None = None
    took_easier: bool = False


@dataclass(frozen=True)
class LogEntry:
    """What came of a session: effort 0 to 10, enjoyment 1 to 5, minutes; None where not said.
    `absence` is why it was not done, "" where not said; `done_on` the day it was done, None where
    it was not, or where nobody said (`unsaid_day`)."""

    state: str
    absence: str = ""
    done_on: dt.date | None = None
    effort: int | None = None
    enjoyment: int | None = None
    minutes: int | None = None
    note: str = ""
    results: tuple[SlotEntry, ...] = ()

    def without_what_cannot_be(self) -> "LogEntry":
        """What was not done took no effort and no time, and what was done needs no excuse."""
        if self.state == CompletionState.NOT_DONE:
            return LogEntry(CompletionState.NOT_DONE, self.absence, note=self.note)
        return replace(self, absence="")

    def with_its_day(self, assigned: AssignedSession | None, today: dt.date) -> "LogEntry":
        if assigned is None or self.done_on or self.state == CompletionState.NOT_DONE:
            return self
        return replace(self, done_on=unsaid_day(assigned, today))


@dataclass(frozen=True)
class LogSubmission:
    """A log as somebody gives it of one session. `seen` is the session's `mark` as they filled the
    form."""

    assigned: AssignedSession
    entry: LogEntry
    seen: str


def state_from_amounts(asked: int, amounts: Sequence[int]) -> str:
    """What the amounts of an exercise say of it where nobody chose a state."""
    if all(amount >= asked for amount in amounts):
        return CompletionState.DONE
    return CompletionState.PARTLY if any(amounts) else CompletionState.NOT_DONE


def write_log(
    assigned: AssignedSession, entry: LogEntry, *, by: User, now: dt.datetime, seen: str
) -> Completion:
    """Write a log as `write_logs` does."""
    write_logs([LogSubmission(assigned, entry, seen)], by=by, now=now)
    return Completion.objects.get(assigned_session=assigned)


def write_logs(submissions: Sequence[LogSubmission], *, by: User, now: dt.datetime) -> None:
    """Write logs in one transaction.

    Raises LogRefused where a session or its log has changed since it was seen; nothing at all is
    written then.
    """
    today = timezone.localdate(now)
    with transaction.atomic():
        there = _locked([each.assigned for each in submissions])
        given = [_as_it_can_be(each, there.get(each.assigned.pk), today) for each in submissions]
        news = [each for each in given if not _is_written(there.get(each.assigned.pk), each.entry)]
        _refuse_unseen(news, there, by)
        _write([(there[each.assigned.pk], each.entry) for each in news], by, now)
        mark_started(
            [each.assigned for each in given if each.entry.state != CompletionState.NOT_DONE], now
        )


def _as_it_can_be(
    given: LogSubmission, assigned: AssignedSession | None, today: dt.date
) -> LogSubmission:
    return replace(given, entry=given.entry.without_what_cannot_be().with_its_day(assigned, today))


def mark_started(assigned: Sequence[AssignedSession], now: dt.datetime) -> None:
    """The children have begun: from here on publishing again leaves their sessions alone. Not what
    was closed or called off meanwhile: a page that was open before must not keep it from being
    chosen anew."""
    begun = AssignedSession.objects.filter(pk__in=[each.pk for each in assigned])
    begun.taking_place().filter(started_at=None, closed_at=None).update(started_at=now)


CALLED_OFF: Final = "This session was called off, so there is nothing to log."
CHANGED: Final = "The coach changed this session while you were writing."
SAVE_AGAIN: Final = "What you wrote is still here: look through it. Saving again puts it in place."
"""What a form that was refused can still do; what came from a phone waits for a choice instead."""


def _locked(assigned: Sequence[AssignedSession]) -> dict[int, AssignedSession]:
    """Those of the sessions that still are, by key and with their logs, held until the transaction
    ends: two logs of one session come one after the other."""
    asked = AssignedSession.objects.filter(pk__in=[each.pk for each in assigned])
    list(asked.select_for_update().order_by("pk").values_list("pk"))
    # Asked for again, as a question that had to wait is answered as of before the wait.
    return {each.pk: each for each in asked.with_log().select_related("session")}


def _is_written(assigned: AssignedSession | None, entry: LogEntry) -> bool:
    completion = getattr(assigned, "completion", None)
    return completion is not None and _says_the_same(completion, entry)


def _refuse_unseen(
    submissions: Sequence[LogSubmission], there: Mapping[int, AssignedSession], by: User
) -> None:
    keys = [(each.assigned.pk, each.seen) for each in submissions]
    if why := {pk: text for pk, seen in keys if (text := _unseen(there.get(pk), seen, by))}:
        raise LogRefused(why)


def _unseen(assigned: AssignedSession | None, seen: str, by: User) -> str:
    """What somebody has not seen of a session and its log; "" if they saw it as it is."""
    if assigned and assigned.is_called_off:
        return CALLED_OFF
    if assigned and not is_unseen(seen, assigned.mark):
        return ""
    if assigned is None or seen.partition("|")[0] != assigned.fingerprint:
        return CHANGED
    log = getattr(assigned, "completion", None)
    if log is None:
        return CHANGED
    who = log.edited_by or log.logged_by
    says = f"{log}{_effort(log.effort)}."
    if who == by:
        return f"You have logged this session already: {says}"
    return f"{who.name if who else 'Somebody'} has logged this session meanwhile: {says}"


def _effort(effort: int | None) -> str:
    return "" if effort is None else f", effort {effort} of 10"


def _write(news: Sequence[tuple[AssignedSession, LogEntry]], by: User, now: dt.datetime) -> None:
    """In a fixed number of statements however many they are."""
    fresh: list[Completion] = []
    edited: list[Completion] = []
    for assigned, entry in news:
        completion = getattr(assigned, "completion", None)
        if completion is None:
            completion = Completion(assigned_session=assigned, logged_at=now, logged_by=by)
            fresh.append(completion)
        else:
            completion.edited_at, completion.edited_by = now, by
            edited.append(completion)
        for name in _SAID:
            setattr(completion, name, getattr(entry, name))
    Completion.objects.bulk_create(fresh)
    Completion.objects.bulk_update(edited, [*_SAID, "edited_at", "edited_by"])
    SlotResult.objects.filter(completion__in=edited).delete()
    written_of = AssignedSession.objects.filter(pk__in=[assigned.pk for assigned, _ in news])
    Attendance.objects.logged_instead(written_of).delete()
    written = {each.assigned_session_id: each for each in [*fresh, *edited]}
    SlotResult.objects.bulk_create(
        SlotResult(completion=written[assigned.pk], assigned_slot=each.slot, **_result(each))
        for assigned, entry in news
        for each in entry.results
    )


_SAID: Final = ("state", "absence", "done_on", "effort", "enjoyment", "minutes", "note")
_RESULT: Final = ("state", "amount", "amount_left", "amount_right", "took_easier")


def _result(each: SlotEntry | SlotResult) -> dict[str, object]:
    return {name: getattr(each, name) for name in _RESULT}


def _says_the_same(completion: Completion, entry: LogEntry) -> bool:
    if any(getattr(completion, name) != getattr(entry, name) for name in _SAID):
        return False
    stored = {each.assigned_slot_id: _result(each) for each in completion.results.all()}
    return stored == {each.slot.pk: _result(each) for each in entry.results}
