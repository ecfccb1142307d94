"""Writing down what came of a session, once, whoever says it and however often.

Saying the same again changes nothing; saying something else is an edit and shows who and when.
Nobody writes over a log they have not seen. What hurt is only ever added to: the coach was told.
A part of a session that is not spoken of went like the whole.
"""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from django.db import transaction

from athletes.models import User
from program.models import (
    AssignedSession,
    AssignedSlot,
    Completion,
    Done,
    PainReport,
    SlotResult,
)


class LogRefused(Exception):
    """The log was not written; the message says why and what to do."""


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
    """What came of a session: effort 0 to 10, enjoyment 1 to 5, minutes; None where not said."""

    state: str
    effort: int | None = None
    enjoyment: int | None = None
    minutes: int | None = None
    note: str = ""
    results: tuple[SlotEntry, ...] = ()

    def without_what_cannot_be(self) -> "LogEntry":
        """What was not done took no effort and no time."""
        return LogEntry(Done.NOT, note=self.note) if self.state == Done.NOT else self


@dataclass(frozen=True)
class PainEntry:
    """Something hurt. `public_id` is made by the sender: sent twice, it is one report."""

    public_id: uuid.UUID
    region: str
    side: str
    level: int
    note: str = ""
    slot: AssignedSlot | None = None


def state_from_amounts(asked: int, amounts: Sequence[int]) -> str:
    """What the amounts of an exercise say of it where nobody chose a state."""
    if all(amount >= asked for amount in amounts):
        return Done.DONE
    return Done.SOME if any(amounts) else Done.NOT


def seen_mark(assigned: AssignedSession) -> str:
    """What somebody saw of a session and its log; it changes with either."""
    log = getattr(assigned, "completion", None)
    moment = (log.edited_at or log.logged_at).isoformat() if log else ""
    return f"{assigned.fingerprint}|{moment}"


def write_log(
    assigned: AssignedSession,
    entry: LogEntry,
    pain: PainEntry | None,
    *,
    by: User,
    now: dt.datetime,
    seen: str,
) -> Completion:
    """Write a log, and what hurt, in one transaction.

    `seen` is the `seen_mark` of what the person filled the form from. Raises LogRefused where the
    session or its log has changed since; nothing is written then.
    """
    entry = entry.without_what_cannot_be()
    with transaction.atomic():
        locked = _locked(assigned)
        completion = getattr(locked, "completion", None)
        if completion is None or not _says_the_same(completion, entry):
            _refuse_unseen(locked, seen)
            completion = _write(locked, completion, entry, by, now)
        if pain:
            _report(locked, pain, by, now)
        if entry.state != Done.NOT:
            mark_started(locked, now)
    return completion


def report_pain(
    assigned: AssignedSession, pain: PainEntry, *, by: User, now: dt.datetime
) -> PainReport:
    """Tell the coach that something hurt, without a log. Raises LogRefused for a session gone."""
    with transaction.atomic():
        return _report(_locked(assigned), pain, by, now)


def mark_started(assigned: AssignedSession, now: dt.datetime) -> None:
    """The child has begun: from here on publishing again leaves the session alone."""
    AssignedSession.objects.filter(pk=assigned.pk, started_at=None).update(started_at=now)


CHANGED: Final = (
    "The coach changed this session while you were writing. What you wrote is still here: look "
    "through it and save again."
)


def _locked(assigned: AssignedSession) -> AssignedSession:
    """The session, held until the transaction ends: two logs of it come one after the other."""
    if not AssignedSession.objects.select_for_update().filter(pk=assigned.pk).exists():
        raise LogRefused(CHANGED)
    # Asked for again, as a question that had to wait is answered as of before the wait.
    return AssignedSession.objects.select_related(
        "completion__logged_by", "completion__edited_by"
    ).get(pk=assigned.pk)


def _refuse_unseen(assigned: AssignedSession, seen: str) -> None:
    if seen == seen_mark(assigned):
        return
    if seen.partition("|")[0] != assigned.fingerprint:
        raise LogRefused(CHANGED)
    log = assigned.completion
    who = log.edited_by or log.logged_by
    raise LogRefused(
        f"{who.name if who else 'Somebody'} has logged this session meanwhile: "
        f"{log.get_state_display()}{_effort(log.effort)}. Saving now writes yours over it."
    )


def _effort(effort: int | None) -> str:
    return "" if effort is None else f", effort {effort} of 10"


def _write(
    assigned: AssignedSession,
    completion: Completion | None,
    entry: LogEntry,
    by: User,
    now: dt.datetime,
) -> Completion:
    if completion is None:
        completion = Completion(assigned_session=assigned, logged_at=now, logged_by=by)
    else:
        completion.edited_at, completion.edited_by = now, by
    for name in _SAID:
        setattr(completion, name, getattr(entry, name))
    completion.save()
    completion.results.all().delete()
    SlotResult.objects.bulk_create(
        SlotResult(completion=completion, assigned_slot=each.slot, **_result(each))
        for each in entry.results
    )
    return completion


_SAID: Final = ("state", "effort", "enjoyment", "minutes", "note")
_RESULT: Final = ("state", "amount", "amount_left", "amount_right", "took_easier")


def _result(each: SlotEntry | SlotResult) -> dict[str, object]:
    return {name: getattr(each, name) for name in _RESULT}


def _says_the_same(completion: Completion, entry: LogEntry) -> bool:
    if any(getattr(completion, name) != getattr(entry, name) for name in _SAID):
        return False
    stored = {each.assigned_slot_id: _result(each) for each in completion.results.all()}
    return stored == {each.slot.pk: _result(each) for each in entry.results}


def _report(assigned: AssignedSession, pain: PainEntry, by: User, now: dt.datetime) -> PainReport:
    """Sent again it is the same report; if it says something else, the coach looks again."""
    there = PainReport.objects.filter(public_id=pain.public_id).first()
    if there and there.assigned_session_id != assigned.pk:
        # An id that names a report of another session is nobody's business here.
        return _report(assigned, replace(pain, public_id=uuid.uuid4()), by, now)
    says = {
        "region": pain.region,
        "side": pain.side,
        "level": pain.level,
        "note": pain.note,
        "assigned_slot": pain.slot,
    }
    if there is None:
        return PainReport.objects.create(
            public_id=pain.public_id,
            child_id=assigned.child_id,
            assigned_session=assigned,
            reported_at=now,
            reported_by=by,
            **says,
        )
    if any(getattr(there, name) != said for name, said in says.items()):
        for name, said in says.items():
            setattr(there, name, said)
        there.seen_at = there.seen_by = None
        there.save(update_fields=[*says, "seen_at", "seen_by"])
    return there
