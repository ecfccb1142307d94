"""The coach's one answer to a question, and what follows from it: another exercise for this child
in what is not started, a note for everybody on the exercise, or both. All of it is one transaction
and is taken back as one.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Exists, OuterRef, Q

from athletes.changes import lock
from athletes.models import Child, Enrolment, User
from library.models import Exercise, ExerciseNote, hold_the_edition
from program.ask.privacy_check import names_in, quotes
from program.engine.checks import CheckResult
from program.fit.fitting import fit
from program.models import AssignedSession, Override, Question, Resolution, Session, Slot
from program.models.questions import LONGEST_ANSWER
from program.publish.deciding import (
    ChoiceNeedsReason,
    Said,
    Word,
    decide,
    remove_override,
    restore_override,
)
from program.publish.own_choices import OwnChoice, choices_of

type Before = dict[str, Any]


@dataclass(frozen=True)
class Reply:
    """`words` are for the family; `keeps_note` is for every family on the exercise; `swap` is what
    this child gets in its place, None for no change, and `because` why, where a check says stop."""

    words: str
    keeps_note: bool = False
    swap: Exercise | None = None
    because: str = ""


class AlreadyAnswered(Exception):
    """Somebody was quicker; the question has that answer and no other."""


@transaction.atomic
def answer(
    question: Question, reply: Reply, by: User, now: dt.datetime, today: dt.date
) -> Resolution:
    """Raises a ValidationError for words that cannot be sent or kept, ChoiceNeedsReason for a swap
    to which a check says stop, and AlreadyAnswered."""
    words = reply.words.strip()
    ahead = _locked_ahead(question, today) if reply.swap else []
    locked = Question.objects.unanswered().select_for_update(of=("self",))
    asked = locked.filter(pk=question.pk).first()
    if asked is None:
        raise AlreadyAnswered
    child = asked.child
    refuse_unfit(asked, child, reply)
    asked.answer, asked.answered_at, asked.answered_by = words, now, by
    asked.save(update_fields=["answer", "answered_at", "answered_by"])
    before: Before = {"question": asked.pk}
    told = f"“{asked.text[:120]}”: answered."
    if reply.keeps_note and asked.exercise:
        note = asked.exercise.notes.create(text=words, kept_at=now, kept_by_name=by.name)
        before["note"] = note.pk
        told += f" Kept as a note on {asked.exercise}."
    if reply.swap and asked.exercise:
        swapped = _swap(child, ahead, reply, by, now)
        before |= {"swapped": swapped, "to": reply.swap.pk}
        told += f" {asked.exercise} became {reply.swap} where it is not started."
    return Resolution.objects.create(
        child=child, finding=asked.key, action="answer", sentence=told[:300], by=by, at=now,
        before=before,
    )  # fmt: skip


def refuse_unfit(question: Question, child: Child, reply: Reply) -> None:
    """Raises a ValidationError where a reply cannot stand as it is."""
    words = reply.words.strip()
    if not 0 < len(words) <= LONGEST_ANSWER:
        raise ValidationError(f"Write an answer of up to {LONGEST_ANSWER} letters.", code="length")
    if not reply.keeps_note:
        return
    if question.exercise is None:
        raise ValidationError("This was not asked about an exercise.", code="no_exercise")
    family = [child.given_name, *child.guardians.values_list("name", flat=True)]
    if named := names_in(words, family):
        raise ValidationError(
            f"A note for everybody names nobody, and this names {named[0]}. Write it without, or "
            "do not keep it as a note.",
            code="named",
        )
    if quotes(words, question.text):
        raise ValidationError(
            "A note for everybody does not repeat what a family wrote. Say it in your own words, "
            "or do not keep it as a note.",
            code="quoted",
        )


def slots_ahead(child: Child, exercise: Exercise, today: dt.date) -> list[Slot]:
    """The written slots from today on in which this child gets the exercise and has not begun, and
    those where it is written and nothing is published yet."""
    mine = Enrolment.objects.in_force(OuterRef("part__session__date")).filter(
        child=child, cohort=OuterRef("part__session__block__cohort")
    )
    begun = AssignedSession.objects.touched().filter(child=child, session=OuterRef("part__session"))
    has_it = Q(assigned__assigned_session__child=child, assigned__revision__exercise=exercise)
    to_come = Q(exercise=exercise, part__session__published_at__isnull=True)
    slots = Slot.objects.filter(Exists(mine), ~Exists(begun), has_it | to_come)
    ahead = slots.filter(part__session__date__gte=today).select_related("part__session__block")
    return list(ahead.distinct().order_by("part__session__date", "pk"))


def choices_instead(child: Child, exercise: Exercise, slots: Iterable[Slot]) -> list[OwnChoice]:
    """What the child may do in the exercise's place; nothing where nothing is ahead."""
    first = next(iter(slots), None)
    if first is None:
        return []
    session = Session.objects.with_slots().get(pk=first.part.session_id)
    (slot,) = (each for each in session.all_slots() if each.pk == first.pk)
    found = choices_of(fit(session, [child]), slot, child)
    return [each for each in found if each.slug != exercise.slug]


def _locked_ahead(question: Question, today: dt.date) -> list[Slot]:
    """`slots_ahead` of what it asks about, with all locked that whoever publishes them has. Before
    the question, because who publishes anew writes in it: the session that it names is replaced."""
    child, exercise = question.child, question.exercise
    if exercise is None:
        return []
    locked = _lock_sessions_of(slot.pk for slot in slots_ahead(child, exercise, today))
    hold_the_edition()
    lock(child)
    there = slots_ahead(child, exercise, today)  # as it is after the wait for them
    return [slot for slot in there if slot.part.session_id in locked]


def _swap(
    child: Child, slots: Sequence[Slot], reply: Reply, by: User, now: dt.datetime
) -> list[Before]:
    """Give the child the other exercise in these slots; what stood there before."""
    there = {each.slot_id: each for each in Override.objects.filter(child=child, slot__in=slots)}
    stops: dict[str, CheckResult] = {}
    said = Said(by=by, at=now, because=reply.because)
    for slot in slots:
        try:
            decide(slot.part.session, [Word(slot, child, reply.swap)], said)
        except ChoiceNeedsReason as needed:
            stops |= {stop.sentence: stop for stop in needed.stops}
    if stops:
        raise ChoiceNeedsReason(list(stops.values()))
    return [{"slot": slot.pk, "was": _as_it_was(there.get(slot.pk))} for slot in slots]


def _lock_sessions_of(slots: Iterable[int]) -> set[int]:
    """All of them before any child, as whoever publishes has them: see `publishing.locked`. Of
    slots by key; the sessions' keys."""
    written = Slot.objects.filter(pk__in=list(slots)).values("part__session")
    return set(Session.objects.filter(pk__in=written).lock())


def _as_it_was(override: Override | None) -> Before | None:
    if override is None:
        return None
    return {
        "exercise": override.exercise_id,
        "note": override.note,
        "by": override.set_by_id,
        "in_spite_of": override.in_spite_of,
        "because": override.because,
    }


def undo_answer(before: Before, child: Child, by: User, now: dt.datetime) -> bool:
    """Undo an answer with all that followed; False, and nothing is changed, where somebody has
    decided something else about the swap since."""
    swapped = {each["slot"]: each["was"] for each in before.get("swapped", [])}
    _lock_sessions_of(swapped)
    ours = Override.objects.select_for_update(of=("self",)).filter(child=child, slot__in=swapped)
    standing = list(ours.select_related("slot__part__session__block"))
    if any(each.exercise_id != before["to"] for each in standing):
        return False
    if len(standing) != Slot.objects.filter(pk__in=swapped).count():
        return False
    for each in standing:
        _restore(each, swapped[each.slot_id], child, now)
    for note in ExerciseNote.objects.filter(pk=before.get("note", 0)):
        note.remove(by.name, now)
    answered = Question.objects.filter(pk=before["question"], child=child)
    return bool(answered.update(answer="", answered_at=None, answered_by=None))


def _restore(override: Override, was: Before | None, child: Child, now: dt.datetime) -> None:
    if was is None:
        remove_override(override.slot, child, now)
        return
    exercise = Exercise.objects.filter(pk=was["exercise"]).first()
    by = User.objects.filter(pk=was["by"]).first()
    override.exercise, override.note, override.set_by = exercise, was["note"], by
    override.in_spite_of, override.because = was.get("in_spite_of", []), was.get("because", "")
    restore_override(override, now)
