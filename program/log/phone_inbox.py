"""What phones send, each thing written once, in whatever order and however often it comes.

A log that meets another log, or a session the coach has changed since, is kept with what it said
until somebody chooses; nothing that was sent is dropped.
"""

import datetime as dt
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.db import IntegrityError, transaction
from django.forms import BaseForm
from django.http import Http404, QueryDict
from django.utils import timezone

from athletes.models import Child, ConsentPurpose, User
from athletes.models.consents import is_agreed_to
from library.shared.dates import short_weekday_and_date
from program.ask.forms import QuestionForm
from program.log.day_done import day_in, said_day
from program.log.forms import LogForm
from program.log.logbook import LogRefused, mark_started, write_log
from program.log.pain_fields import pain_sent
from program.log.pain_reports import Reporting, report_pain
from program.models import (
    AssignedSession,
    CompletionState,
    PainReport,
    Submission,
    SubmissionKind,
    SubmissionState,
)

MOST_TOLD: Final = 300  # characters; a refusal may repeat what was sent


class NotASubmission(Exception):
    """What was sent cannot be read; the message says what is wrong with it."""


@dataclass(frozen=True)
class Sent:
    """One thing as a phone sent it. `fields` are those of the log form, by name."""

    id: uuid.UUID
    kind: SubmissionKind
    child: uuid.UUID
    session: uuid.UUID
    fields: dict[str, str]

    @classmethod
    def read(cls, item: Any) -> "Sent":
        """Raises NotASubmission."""
        if not isinstance(item, Mapping):
            raise NotASubmission("One thing at a time, please: an object with an id and a kind.")
        fields = item.get("fields", {})
        if not isinstance(fields, Mapping) or len(fields) > 400:
            raise NotASubmission("The fields must be names with what was said of each.")
        try:
            ids = [uuid.UUID(str(item[name])) for name in ("id", "child", "session")]
            kind = SubmissionKind(item["kind"])
        except (KeyError, ValueError) as wrong:
            raise NotASubmission(f"This cannot be read: {wrong}") from None
        said = {_text(name): _text(value) for name, value in fields.items()}
        return cls(ids[0], kind, ids[1], ids[2], said)


def _text(said: Any) -> str:
    """As much of it as can be kept: JSON carries null bytes and halves of characters."""
    return str(said)[:2000].replace("\0", "").encode(errors="replace").decode()


@dataclass(frozen=True)
class _Answer:
    state: SubmissionState
    sentence: str = ""


def accept(sent: Sent, reporting: Reporting) -> Submission:
    """Write it where it belongs, once; what hurts before the log that says so, whatever becomes of
    that. Raises Http404 for a child this person may not see."""
    by, now = reporting.by, reporting.now
    child = Child.objects.visible_to(by).filter(public_id=sent.child).first()
    if child is None:
        raise Http404
    with transaction.atomic():
        row, is_new = _kept(sent, child, by, now)
        if not is_new:
            return _known(row, child)
        hurt = _report_what_hurts(sent, child, reporting)
        _hold(child, sent.session)
        session = _session(by, child, sent.session)
        answer = _write(sent, session, by, now, hurt=hurt)
        row.assigned_session, row.state, row.sentence = session, answer.state, answer.sentence
        if answer.state != SubmissionState.WRITTEN or sent.kind == SubmissionKind.EASIER:
            # An easier choice has no other place until the log.
            row.payload = _kept_of(sent, child, now)
        row.save()
    return row


def _kept(sent: Sent, child: Child, by: User, now: dt.datetime) -> tuple[Submission, bool]:
    """And whether it is new. Raises Http404 where the id is that of another child's."""
    said = {"child": child, "kind": sent.kind, "by": by, "received_at": now}
    try:
        return Submission.objects.get_or_create(
            id=sent.id, defaults=said | {"state": SubmissionState.WRITTEN}
        )
    except IntegrityError:  # row security shows nobody another child's
        raise Http404 from None


def _kept_of(sent: Sent, child: Child, now: dt.datetime) -> dict[str, str]:
    """What was sent, without words about health where the family does not agree to them."""
    day = timezone.localdate(now)
    if not sent.fields.get("hurt_note") or is_agreed_to(ConsentPurpose.HEALTH_NOTES, child, day):
        return sent.fields
    return {name: text for name, text in sent.fields.items() if name != "hurt_note"}


def _known(row: Submission, child: Child) -> Submission:
    if row.child_id != child.pk:
        raise Http404
    return row


def _report_what_hurts(sent: Sent, child: Child, reporting: Reporting) -> bool:
    """Whether something does. Before any session is locked, since the child is."""
    if sent.kind not in {SubmissionKind.PAIN, SubmissionKind.LOG}:
        return False
    session = _session(reporting.by, child, sent.session)
    said = sent.fields | ({"hurt": "yes"} if sent.kind == SubmissionKind.PAIN else {})
    pain = pain_sent(_query(said), session)
    if pain is None:
        return False
    is_begun = sent.fields.get("state") != CompletionState.NOT_DONE
    report_pain(child, pain, reporting, session, is_begun=is_begun)
    return True


def _hold(child: Child, public_id: uuid.UUID) -> None:
    """Lock the session until the transaction ends, so that it is not replaced while something is
    written to it.

    Whoever has to wait for a coach who publishes anew finds the row they waited for gone, and looks
    again: the new one has the same public id.
    """
    mine = AssignedSession.objects.filter(child=child, public_id=public_id)
    while not mine.select_for_update().values_list("pk").first() and mine.exists():
        pass


def _session(by: User, child: Child, public_id: uuid.UUID) -> AssignedSession | None:
    sessions = AssignedSession.objects.visible_to(by).filter(child=child, public_id=public_id)
    return sessions.with_slots().with_log().with_agreements().first()


GONE: Final = (
    "The coach has taken this session out of the plan. What you wrote is kept here, and the coach "
    "can read it."
)


def _write(
    sent: Sent, session: AssignedSession | None, by: User, now: dt.datetime, *, hurt: bool
) -> _Answer:
    if sent.kind == SubmissionKind.PAIN:
        written, refused = (
            _Answer(SubmissionState.WRITTEN),
            _Answer(SubmissionState.REFUSED, UNCLEAR),
        )
        return written if hurt else refused
    if session is None:
        return _without_session(sent.kind)
    match sent.kind:
        case SubmissionKind.LOG:
            return write_sent_log(sent.fields, session, by, now)
        case SubmissionKind.ASK:
            return _ask(sent.fields, session, by, now)
    mark_started([session], now)
    return _Answer(SubmissionState.WRITTEN)


UNCLEAR: Final = "It does not say where it hurts. Say it again, or tell the coach yourself."


def _ask(fields: dict[str, str], session: AssignedSession, by: User, now: dt.datetime) -> _Answer:
    form = QuestionForm(session, by, _query(fields))
    if not form.is_valid() or form.refuse_a_flood(now):
        return _Answer(SubmissionState.REFUSED, _first_error(form))
    form.save(now)
    return _Answer(SubmissionState.WRITTEN)


def write_sent_log(
    fields: dict[str, str], session: AssignedSession, by: User, now: dt.datetime
) -> _Answer:
    """Write a log from the form's fields, or say why not."""
    form = LogForm(session, _query(fields))
    if not form.is_valid():
        return _Answer(SubmissionState.REFUSED, _first_error(form))
    try:
        write_log(session, form.entry, by=by, now=now, seen=fields.get("seen", ""))
    except LogRefused as refused:
        return _Answer(SubmissionState.CONFLICT, str(refused))
    return _Answer(SubmissionState.WRITTEN)


def _without_session(kind: SubmissionKind) -> _Answer:
    """A log or a question is kept for the coach to read; the rest has nothing to be written to."""
    if kind in {SubmissionKind.LOG, SubmissionKind.ASK}:
        return _Answer(SubmissionState.REFUSED, GONE)
    return _Answer(SubmissionState.WRITTEN)


@dataclass(frozen=True)
class KeptLog:
    """A log that could not be written, as it is shown beside the one that stands."""

    row: Submission

    @property
    def says(self) -> str:
        """ "done, effort 5 of 10, 20 minutes, on Mon 2 Nov" """
        said = self.row.payload
        effort, took, day = said.get("effort"), said.get("minutes"), self._done_on
        told = [
            dict(CompletionState.choices).get(said.get("state", ""), ""),
            f"effort {effort} of 10" if effort else "",
            f"{took} minutes" if took else "",
            f"on {short_weekday_and_date(day)}" if day else "",
        ]
        return ", ".join(filter(None, told))

    @property
    def _done_on(self) -> dt.date | None:
        """None where it says no day, or that nothing was done."""
        said, session = self.row.payload, self.row.assigned_session
        if session is None or not said.get("day") or said.get("state") == CompletionState.NOT_DONE:
            return None
        days = (day_in(said.get(name, "")) for name in ("done_on", "told_on"))
        return said_day(session, timezone.localdate(self.row.received_at), said["day"], *days)

    @property
    def note(self) -> str:
        return str(self.row.payload.get("note", ""))

    @property
    def reports(self) -> list[PainReport]:
        """What hurt, as it says: told the coach already, whichever log stands."""
        try:
            told = uuid.UUID(self.row.payload.get("hurt_id", ""))
        except ValueError:
            return []
        reports = PainReport.objects.filter(child=self.row.child_id, public_id=told)
        return list(reports.with_people())


def choose(row: Submission, by: User, now: dt.datetime) -> str:
    """Put a kept log in the place of the one that stands; "" once done, or why it cannot be."""
    session = (
        _session(by, row.child, row.assigned_session.public_id) if row.assigned_session else None
    )
    if session is None:
        return GONE
    answer = write_sent_log(row.payload | {"seen": session.mark}, session, by, now)
    if answer.state == SubmissionState.WRITTEN:
        row.settle()
    return answer.sentence


def _query(fields: Mapping[str, str]) -> QueryDict:
    query = QueryDict(mutable=True)
    query.update(fields)
    query.setlist("hurt_signs", [each for each in fields.get("hurt_signs", "").split(",") if each])
    return query


def _first_error(form: BaseForm) -> str:
    first = next((str(error) for errors in form.errors.values() for error in errors), "")
    return first[:MOST_TOLD]
