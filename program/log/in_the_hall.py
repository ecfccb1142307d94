"""Who was in the hall without the session: a child of the cohort that has nothing of it stands in
the group's log all the same, to be noted as there, or why not.

Something may hurt such a child as well as any other, and goes its own way as from every log.

What is noted goes by the rules of a log: a line that nobody touched says nothing, nobody writes
over what they have not seen, and saying the same again changes nothing. Once the child has got the
session, its log begins from the note, which goes when that is written (`log/logbook.py`).
"""

import datetime as dt
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from django import forms
from django.db.models import Prefetch
from django.http import QueryDict

from athletes.models import Child
from program.common.edit_conflicts import is_unseen
from program.fit.held_back import held_back
from program.log.pain_fields import AWAY_AND_HURT, HurtForm, pain_in
from program.log.pain_reports import PainEntry
from program.models import AssignedSession, Attendance, PainReport, Presence, Session

if TYPE_CHECKING:
    from athletes.models import User

FILLED: Final = ("presence", "effort", "less", "note")
"""What a line of the group's log is filled with; one without a session has its presence alone."""


def as_filled(said: Mapping[str, Any]) -> str:
    """What a line says, as a text to be compared: of what was stored and of what was sent alike."""
    effort = said.get("effort")
    return json.dumps(
        [
            said.get("presence") or "",
            "" if effort is None else str(effort),
            bool(said.get("less")),
            str(said.get("note") or "").replace("\r\n", "\n").strip(),
        ]
    )


def is_untouched(data: QueryDict, prefix: str) -> bool:
    """Whether a line came back as it was filled; one that was not sent at all is, too."""
    if data.get(f"{prefix}-hurt") == "yes":
        return False
    was = data.get(f"{prefix}-was", as_filled({}))
    return as_filled({name: data.get(f"{prefix}-{name}", "") for name in FILLED}) == was


def noted_in(session: Session, at: str) -> Prefetch[Any]:
    """With what is noted of children in this session, as `noted`; `at` is the way to it."""
    notes = Attendance.objects.filter(session=session).select_related("said_by")
    return Prefetch(at, queryset=notes, to_attr="noted")


def unanswered_pain(at: str) -> Prefetch[Any]:
    """With what hurts children and nobody has answered; `at` is the way to it."""
    reports = PainReport.objects.unanswered().with_people()
    return Prefetch(at, queryset=reports, to_attr="unanswered_pain")


def note_on(child: Child) -> Attendance | None:
    """What was fetched by `noted_in`."""
    notes: list[Attendance] = getattr(child, "noted", [])
    return notes[0] if notes else None


@dataclass(frozen=True)
class NotSent:
    """A child of the cohort that has nothing of a published session. `rests`: it does nothing for
    now, for something that was reported, a time of rest, or its family's no to training; otherwise
    something in the session is still to be chosen for it."""

    child: Child
    rests: bool


def without_it(user: "User", session: Session, group: Sequence[AssignedSession]) -> list[NotSent]:
    """Who is in the cohort that day and has nothing of the session, in the order of their names,
    with what is noted of them and what hurts. Four queries; none of a session that is not out or
    called off."""
    if not session.is_published or session.is_called_off:
        return []
    enrolled = Child.objects.visible_to(user).enrolled_in(session.block.cohort, session.date)
    others = enrolled.exclude(pk__in=[each.child_id for each in group])
    named = others.order_by("given_name", "family_initial", "pk")
    hurt = unanswered_pain("pain_reports")
    children = list(named.prefetch_related(noted_in(session, "attendance"), hurt))
    resting = held_back([each.pk for each in children], session.date) if children else set()
    return [NotSent(each, each.pk in resting) for each in children]


@dataclass(frozen=True)
class Said:
    """What is said of a child; `seen` is the mark of the note it was said over, "" for none."""

    child: Child
    presence: str
    seen: str


class PresenceForm(HurtForm):
    """The line of a child that has nothing of the session. `refusal` says why it could not be
    written as it stands. It carries what it was filled with, as every line of the group does."""

    presence = forms.ChoiceField(
        label="Was there?", choices=Presence.choices, required=False, widget=forms.RadioSelect
    )
    hurt = forms.BooleanField(  # type: ignore[assignment]
        label="hurt", required=False, widget=forms.CheckboxInput(attrs={"value": "yes"})
    )

    def __init__(self, of: NotSent, data: QueryDict | None, refusal: str = "") -> None:
        self.child, self.rests, self.refusal = of.child, of.rests, refusal
        self.noted = note_on(of.child)
        prefix = str(of.child.public_id)
        if data is not None and is_untouched(data, prefix):
            data = None
        initial = {"presence": self.noted.presence if self.noted else ""}
        super().__init__(None, data, initial, prefix=prefix)
        del self.fields["hurt_note"]

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if data.get("presence") == Presence.AWAY and self._something_hurt():
            self.add_error("presence", AWAY_AND_HURT)
        if not data.get("presence") and self._something_hurt():
            data["presence"] = Presence.THERE
        return data

    @property
    def seen(self) -> str:
        """The note it was filled from; after a refusal the one that stands has been seen."""
        if self.is_bound and not self.refusal:
            return self.typed("seen")
        return self.noted.mark if self.noted else ""

    @property
    def was(self) -> str:
        """What it was filled with."""
        posted = self.typed("was") if self.is_bound and not self.refusal else ""
        return posted or as_filled(self.initial)

    @property
    def is_touched(self) -> bool:
        return self.is_bound

    @property
    def says(self) -> str:
        """Whether the child was there, once all is valid; "" where nobody has said."""
        told = self.cleaned_data if self.is_bound else self.initial
        return str(told.get("presence") or "")

    @property
    def tells_of_health(self) -> bool:
        is_sick = self.noted is not None and self.noted.presence == Presence.SICK
        return self.rests or is_sick or bool(self.spared)

    @property
    def said(self) -> Said | None:
        """What the valid line says; None for a child of whom nothing new is said."""
        if not self.is_bound or not self.says:
            return None
        return Said(self.child, self.says, self.typed("seen"))

    @property
    def reported(self) -> PainEntry | None:
        """What hurt, as far as that is said without a question, whatever else the line says."""
        if not self.is_bound or self.typed("presence") == Presence.AWAY:
            return None
        return pain_in(self.data, None, self.prefix)

    @property
    def spared(self) -> list[PainReport]:
        """What was said to hurt, here or elsewhere, and nobody has answered."""
        unanswered: list[PainReport] = self.child.unanswered_pain  # type: ignore[attr-defined]
        return unanswered


class NoteRefused(Exception):
    """Nothing was written. `why` says it by child, by the key of each that stands in the way."""

    def __init__(self, why: Mapping[int, str]) -> None:
        super().__init__(" ".join(dict.fromkeys(why.values())))
        self.why = why


def note_attendance(session: Session, said: Sequence[Said], by: "User", now: dt.datetime) -> None:
    """Note who was there, in a fixed number of statements. Call with the session locked, so that
    nobody is sent it meanwhile. Raises NoteRefused."""
    if not said:
        return
    children = [each.child.pk for each in said]
    notes = Attendance.objects.filter(session=session, child__in=children)
    there = {each.child_id: each for each in notes.select_related("said_by")}
    sent = AssignedSession.objects.filter(session=session, child__in=children)
    news = [each for each in said if not _says_the_same(there.get(each.child.pk), each)]
    _refuse_unseen(news, there, set(sent.values_list("child", flat=True)))
    fresh: list[Attendance] = []
    corrected: list[Attendance] = []
    for each in news:
        note = there.get(each.child.pk)
        (corrected if note else fresh).append(note := note or Attendance(session=session))
        note.child, note.presence, note.said_at, note.said_by = each.child, each.presence, now, by
    Attendance.objects.bulk_create(fresh)
    Attendance.objects.bulk_update(corrected, ["presence", "said_at", "said_by"])


def _says_the_same(note: Attendance | None, said: Said) -> bool:
    return note is not None and note.presence == said.presence


def _refuse_unseen(news: Sequence[Said], there: Mapping[int, Attendance], sent: set[int]) -> None:
    why = {
        each.child.pk: _meanwhile(there.get(each.child.pk), is_sent=each.child.pk in sent)
        for each in news
        if each.child.pk in sent or is_unseen(each.seen, _mark(there.get(each.child.pk)))
    }
    if why:
        raise NoteRefused(why)


def _mark(note: Attendance | None) -> str:
    return note.mark if note else ""


def _meanwhile(note: Attendance | None, *, is_sent: bool) -> str:
    if is_sent:
        return "Has got the session meanwhile."
    if note is None:
        return "Has the session no longer, so that only who was there can be noted."
    who = note.said_by.name if note.said_by else "Somebody"
    return f"{who} has noted meanwhile: {note}."
