"""A session logged by the coach for the whole group: who was there, with the session or without,
what it cost each of them, and a note on all of it.

Everything is written together or not at all. A child nobody said anything of is left open. A line
that was not touched says nothing: what somebody else has corrected meanwhile stays, and is shown.
What a family has told of the single exercises stays.
"""

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import QueryDict

from athletes.consent_texts import WORDS_NOT_KEPT
from athletes.models import Child
from program.common.edit_conflicts import is_unseen
from program.common.fields import WholeNumberField
from program.common.wording import EFFORT, minutes
from program.log.in_the_hall import (
    FILLED,
    NotSent,
    PresenceForm,
    as_filled,
    is_untouched,
    note_attendance,
    note_on,
    noted_in,
    unanswered_pain,
)
from program.log.logbook import LogEntry, LogSubmission, SlotEntry, write_logs
from program.log.pain_fields import AWAY_AND_HURT, HurtForm, pain_in, scale
from program.log.pain_reports import PainEntry, Reporting, report_pain
from program.log.session_notes import write_note
from program.models import (
    Absence,
    AssignedSession,
    Completion,
    CompletionState,
    PainReport,
    Presence,
    Session,
    SessionNote,
)

if TYPE_CHECKING:
    from athletes.models import User

THERE: Final = Presence.THERE
NOT_DONE: Final = "not"
"""What a family may have said without a reason; nobody else is offered it."""
PRESENCE: Final = Presence.choices
GOT_IT: Final = "Has got the session since you opened this page: “there” says now that it was done."
"""For a line that was filled when its child had nothing of the session."""


def group_of(user: "User", session: Session) -> list[AssignedSession]:
    """What each child has of the session, with its log, in the order of their names; of one that is
    called off, what was begun."""
    given = AssignedSession.objects.logged_with_group_by(user).filter(session=session)
    assigned = given.taking_place()
    by_name = ("child__given_name", "child__family_initial", "pk")
    spared = unanswered_pain("child__pain_reports")
    whole = assigned.with_slots().with_log().with_agreements()
    noted = noted_in(session, "child__attendance")
    return list(whole.prefetch_related(spared, noted).order_by(*by_name))


class ChildLogForm(HurtForm):
    """One child's line. `refusal` says why it could not be written as it stands. `noted` is what
    the hall's log said before the child had the session: a line without a log begins from it.

    It carries what it was filled with (`was`), as a page without scripting and one that waited
    on a tablet do, too: that and nothing else tells whether somebody touched it. One that nobody
    touched, and that somebody else has changed meanwhile, is shown as it stands now.
    """

    presence = forms.ChoiceField(
        label="Was there?", choices=PRESENCE, required=False, widget=forms.RadioSelect
    )
    effort = scale("Effort", list(enumerate(EFFORT)), "Effort runs from 0 to 10.")
    less = forms.BooleanField(label="did less", required=False)
    hurt = forms.BooleanField(  # type: ignore[assignment]
        label="hurt", required=False, widget=forms.CheckboxInput(attrs={"value": "yes"})
    )
    note = forms.CharField(
        label="A note",
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 1}),
    )

    def __init__(self, assigned: AssignedSession, data: Any, refusal: str = "") -> None:
        self.assigned, self.child = assigned, assigned.child
        self.completion: Completion | None = getattr(assigned, "completion", None)
        self.noted = None if self.completion else note_on(assigned.child)
        prefix = str(self.child.public_id)
        is_older = refusal and "|" not in data.get(f"{prefix}-seen", "")
        self.refusal = GOT_IT if is_older else refusal
        if data is not None and _is_overtaken(data, prefix, assigned):
            data = None
        super().__init__(assigned, data, self._initial(), prefix=prefix)
        if self.initial.get("presence") == NOT_DONE:
            self.fields["presence"].choices = [*PRESENCE, (NOT_DONE, "not done")]  # type: ignore[attr-defined]

    def _initial(self) -> dict[str, Any]:
        log = self.completion
        if log is None:
            return {"presence": self.noted.presence} if self.noted else {}
        presence = (log.absence or NOT_DONE) if log.state == CompletionState.NOT_DONE else THERE
        less = log.state == CompletionState.PARTLY
        return {"presence": presence, "effort": log.effort, "less": less, "note": log.note}

    @property
    def seen(self) -> str:
        """What the line was filled from; after a refusal its reason has been seen."""
        posted = self.typed("seen") if self.is_bound and not self.refusal else ""
        return posted or self.assigned.mark

    @property
    def was(self) -> str:
        """What the line was filled with."""
        posted = self.typed("was") if self.is_bound and not self.refusal else ""
        return posted or as_filled(self.initial)

    @property
    def is_touched(self) -> bool:
        """Whether something was tapped in it that is not saved."""
        if not self.is_bound:
            return False
        sent = {name: self.typed(name) for name in FILLED}
        return self.typed("hurt") == "yes" or as_filled(sent) != self.was

    @property
    def reports(self) -> Any:
        return self.assigned.pain_reports.all()

    @property
    def says(self) -> str:
        """Whether the child was there, once all is valid; "" where nobody has said."""
        said = self.cleaned_data if self.is_bound else self.initial
        return str(said.get("presence") or "")

    @property
    def spared(self) -> list[PainReport]:
        """What is spared because of what was said elsewhere."""
        unanswered: list[PainReport] = self.child.unanswered_pain  # type: ignore[attr-defined]
        return [each for each in unanswered if each.assigned_session_id != self.assigned.pk]

    @property
    def tells_of_health(self) -> bool:
        is_sick = self.initial.get("presence") == Absence.SICK
        return is_sick or bool(self.reports or self.spared)

    @property
    def is_opened(self) -> bool:
        """Whether the note is to be seen without opening it."""
        return bool(self["note"].value() or self.errors.get("note"))

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if data.get("presence") == Absence.AWAY and self._something_hurt():
            self.add_error("presence", AWAY_AND_HURT)
        if not data.get("presence"):
            if data.get("less") or data.get("effort") is not None or self._something_hurt():
                data["presence"] = THERE
            elif data.get("note"):
                raise ValidationError("Say first whether this child was there.")
        return data

    def submission(
        self, group_minutes: int | None, usual_minutes: int | None
    ) -> LogSubmission | None:
        """What the valid line says; None for a child of whom nothing is said. `usual_minutes` is
        what the group's minutes were filled with: a log that differs from it keeps its own."""
        if not self.cleaned_data["presence"]:
            return None
        entry = self._entry(group_minutes, usual_minutes)
        return LogSubmission(self.assigned, entry, self.typed("seen"))

    @property
    def reported(self) -> PainEntry | None:
        """What hurt, as far as that is said without a question, whatever else the line says."""
        if not self.is_bound:
            return None
        if self.typed("presence") == Absence.AWAY:
            return None
        return pain_in(self.data, self.assigned, self.prefix)

    def _entry(self, group_minutes: int | None, usual_minutes: int | None) -> LogEntry:
        said, log = self.cleaned_data, self.completion
        before = _entry_of(self.assigned, log) if log else LogEntry(CompletionState.DONE)
        if said["presence"] != THERE:
            absence = "" if said["presence"] == NOT_DONE else said["presence"]
            return replace(
                before, state=CompletionState.NOT_DONE, absence=absence, note=said["note"]
            )
        own = (
            log is not None
            and log.state != CompletionState.NOT_DONE
            and log.minutes != usual_minutes
        )
        return replace(
            before,
            state=CompletionState.PARTLY if said["less"] else CompletionState.DONE,
            done_on=before.done_on or self.assigned.date,
            effort=said["effort"],
            minutes=before.minutes if own else group_minutes,
            note=said["note"],
        )


def _is_overtaken(data: QueryDict, prefix: str, assigned: AssignedSession) -> bool:
    """Whether nobody touched a line that was sent, and somebody else has changed what it says."""
    if f"{prefix}-was" not in data or not is_unseen(data.get(f"{prefix}-seen"), assigned.mark):
        return False
    return is_untouched(data, prefix)


def _entry_of(assigned: AssignedSession, log: Completion) -> LogEntry:
    """A log as it stands."""
    slots = {slot.pk: slot for slot in assigned.slots.all()}
    results = tuple(
        SlotEntry(
            slots[each.assigned_slot_id],
            each.state,
            each.amount,
            each.amount_left,
            each.amount_right,
            each.took_easier,
        )
        for each in log.results.all()
    )
    said = (log.effort, log.enjoyment, log.minutes, log.note)
    return LogEntry(log.state, log.absence, log.done_on, *said, results)


class GroupLogForm(forms.Form):
    """The whole group's lines, the minutes of all who were there, and the coaches' note on the
    session; `others` are the lines of those without the session. `note_refusal` says why the note
    could not be written as it stands, `refusals` why a log, `not_noted` why one of the others."""

    minutes = WholeNumberField(
        1, 240, "A session lasts between 1 and 240 minutes.", label="Minutes", required=False
    )

    session_note = forms.CharField(
        label="A note on the session",
        max_length=1000,
        required=False,
        help_text="For the coaches of this cohort, who read it with the session; families do not. "
        "What is about one child belongs in its line.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    note_seen = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def __init__(
        self,
        session: Session,
        group: Sequence[AssignedSession],
        note: SessionNote | None = None,
        data: QueryDict | None = None,
        refusals: Mapping[int, str] | None = None,
        note_refusal: str = "",
        *,
        not_sent: Sequence[NotSent] = (),
        not_noted: Mapping[int, str] | None = None,
    ) -> None:
        self.session, self.note, self.note_refusal = session, note, note_refusal
        self.usual_minutes = _usual_minutes(group)
        told = {"minutes": self.usual_minutes, "session_note": note.text if note else ""}
        super().__init__(data, initial=told)
        why = refusals or {}
        self.lines = [ChildLogForm(each, data, why.get(each.pk, "")) for each in group]
        why = not_noted or {}
        self.others = [PresenceForm(each, data, why.get(each.child.pk, "")) for each in not_sent]

    @property
    def all_lines(self) -> "list[ChildLogForm | PresenceForm]":
        return [*self.lines, *self.others]

    def is_valid(self) -> bool:
        lines = [line.is_valid() for line in self.all_lines if line.is_bound]
        return super().is_valid() and all(lines)

    @property
    def seen(self) -> str:
        """The note that was read; after a refusal the one that stands has been."""
        if self.is_bound and not self.note_refusal:
            return str(self.data.get("note_seen", ""))
        return self.note.mark if self.note else ""

    @property
    def told_of(self) -> list[Child]:
        """Those of whom it says what hurt or is spared, or that they were sick."""
        return [line.child for line in self.all_lines if line.tells_of_health]

    def report_what_hurts(self, reporting: Reporting) -> None:
        """Each by itself and before anything else, whatever becomes of the rest of the form."""
        for line in self.lines:
            if hurt := line.reported:
                report_pain(line.child, hurt, reporting, line.assigned, is_begun=True)
        for other in self.others:
            if hurt := other.reported:
                report_pain(other.child, hurt, reporting)

    @cached_property
    def submissions(self) -> list[LogSubmission]:
        """What is said of whom, once all is valid."""
        length = self.cleaned_data["minutes"]
        sent = (line for line in self.lines if line.is_bound)
        told = (line.submission(length, self.usual_minutes) for line in sent)
        return [each for each in told if each]

    def save(self, by: "User", now: dt.datetime) -> str:
        """Write it all; what was written, in a sentence. Raises LogRefused, NoteRefused and
        EditConflict."""
        data = self.cleaned_data
        with transaction.atomic():
            noted = write_note(self.session, data["session_note"], data["note_seen"], by, now)
            note_attendance(self.session, [each.said for each in self.others if each.said], by, now)
            write_logs(self.submissions, by=by, now=now)
        return self._sentence(noted)

    def _sentence(self, noted: bool) -> str:
        counts = Counter(line.says for line in self.all_lines)
        told = [f"{counts[key]} {word}" for key, word in PRESENCE if counts[key]]
        hurt = sum(1 for line in self.all_lines if line.is_bound and line.pain)
        told += [f"{hurt} hurt"] if hurt else []
        open_ones = sum(1 for line in self.lines if not line.says)
        told += [f"{open_ones} left open"] if open_ones else []
        told += ["your note"] if noted else []
        sent = (line for line in self.lines if line.is_bound)
        left = f" {WORDS_NOT_KEPT}" if any(line.is_without_its_words for line in sent) else ""
        return f"Saved: {', '.join(told) or 'nobody'}.{left}"


def _usual_minutes(group: Sequence[AssignedSession]) -> int | None:
    """What most were logged with, or how long the session was planned."""
    logs = [each.completion for each in group if hasattr(each, "completion")]
    logged = Counter(log.minutes for log in logs if log.minutes)
    if logged:
        return logged.most_common(1)[0][0]
    return minutes(group[0].seconds) if group else None


def all_as_planned(sent: QueryDict, group: Sequence[AssignedSession]) -> QueryDict:
    """The form as it was sent, with everybody there of whom nothing was said."""
    filled = sent.copy()
    for each in group:
        name = f"{each.child.public_id}-presence"
        if not filled.get(name):
            filled[name] = THERE
    return filled
