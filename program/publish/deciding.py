"""What a coach decides for children in the slots of a session: for this one alone, or for all of
them until something changes; and what follows from it."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db import transaction

from athletes.changes import lock
from athletes.models import Child, User
from athletes.signals import Circumstance
from library.models import Exercise
from program.engine.checks import CheckResult
from program.engine.fit.library import Need
from program.fit.fitting import FittedSession, fit
from program.models import Lasts, Override, Session, Slot, StandingDecision
from program.publish.closing import have_chosen_anew
from program.publish.own_choices import Around
from program.publish.publishing import NotThereAnyMore, assign, locked


class ChoiceNeedsReason(Exception):
    """A check says stop to this choice, and nobody has written why the child gets it
    nevertheless."""

    def __init__(self, stops: Sequence[CheckResult]) -> None:
        super().__init__(" ".join(stop.sentence for stop in stops))
        self.stops = tuple(stops)


class Word(NamedTuple):
    """A child gets this exercise in a slot, or none."""

    slot: Slot
    child: Child
    exercise: Exercise | None


@dataclass(frozen=True, kw_only=True)
class Said:
    """How and by whom something is decided. `lasts` is None for this session alone; `until` is the
    last day where it lasts until one. `because` is why, where a check says stop."""

    by: User | None
    at: dt.datetime
    lasts: Lasts | None = None
    until: dt.date | None = None
    note: str = ""
    because: str = ""


@transaction.atomic
def decide(session: Session, words: Sequence[Word], said: Said) -> None:
    """Let all of these stand, or none. What is said anew replaces what was said before; what is out
    and not begun is chosen anew: here at once, in other sessions by the worker.

    Raises ChoiceNeedsReason for stops without a reason, and NotThereAnyMore for a session or a slot
    that was taken out.
    """
    children = _children_of(words)
    written = locked(session, children)
    slots = {slot.pk: slot for slot in written.all_slots()}
    if any(word.slot.pk not in slots for word in words):
        raise NotThereAnyMore
    words = [word._replace(slot=slots[word.slot.pk]) for word in words]
    fitted = fit(written, children)
    stops = _stops_against(fitted, words)
    if stops and not said.because.strip():
        said_once = {stop.sentence: stop for found in stops.values() for stop in found}
        raise ChoiceNeedsReason(list(said_once.values()))
    _forget_here(words)
    if said.lasts is None:
        Override.objects.bulk_create(_for_this_session(words, stops, said))
    else:
        _end_those_before(words, written, said)
        StandingDecision.objects.bulk_create(_for_all_sessions(words, fitted, stops, said))
    send_anew(written, children, said.at)
    if said.lasts is not None:
        have_chosen_anew([child.pk for child in children], Circumstance.DECISION, said.at)


@transaction.atomic
def leave_out_lacking(
    session: Session, lacking: Mapping[Child, Sequence[Need]], said: Said
) -> None:
    """From now on leave out for these children, in all sessions at this place, whatever needs what
    they lack, where nothing else fits. Raises NotThereAnyMore."""
    if said.lasts is None:
        raise ValueError("What is left out of one session alone is decided slot by slot.")
    children = sorted(lacking, key=lambda child: child.pk)
    written = locked(session, children)
    wanted = {
        (child.pk, tuple(sorted(need.items))): need.what
        for child in children
        for need in lacking[child]
    }
    there = StandingDecision.objects.standing().filter(
        child__in=children, cohort=written.block.cohort, place=written.place, written=None
    )
    over = [each.pk for each in there if (each.child_id, tuple(each.needing)) in wanted]
    there.filter(pk__in=over).update(ended_at=said.at, ended_by=said.by)
    StandingDecision.objects.bulk_create(
        StandingDecision(
            child_id=child, needing=list(items), missing=what, **_standing(written, said)
        )
        for (child, items), what in wanted.items()
    )
    send_anew(written, children, said.at)
    have_chosen_anew([child.pk for child in children], Circumstance.DECISION, said.at)


@transaction.atomic
def end_decision(decision: StandingDecision, by: User, now: dt.datetime) -> bool:
    """Let fit decide again in all sessions; False where it had ended before."""
    lock(decision.child)
    standing = StandingDecision.objects.standing().filter(pk=decision.pk)
    if not standing.update(ended_at=now, ended_by=by):
        return False
    have_chosen_anew([decision.child_id], Circumstance.DECISION, now)
    return True


@transaction.atomic
def remove_override(slot: Slot, child: Child, now: dt.datetime) -> None:
    """Let fit decide again in this session. Raises NotThereAnyMore."""
    written = locked(slot.part.session, [child])
    deleted, _ = Override.objects.filter(slot=slot, child=child).delete()
    if deleted:
        send_anew(written, [child], now)


@transaction.atomic
def restore_override(override: Override, now: dt.datetime) -> None:
    """Let a choice stand that was asked about before, in the place of whatever stands there."""
    written = locked(override.slot.part.session, [override.child])
    Override.objects.filter(slot=override.slot, child=override.child).delete()
    override.pk, override._state.adding = None, True
    override.save()
    send_anew(written, [override.child], now)


def send_anew(session: Session, children: Sequence[Child], now: dt.datetime) -> None:
    """Call it with both locked. Edits that are not published yet are left for the coach to
    publish."""
    if session.is_published and not session.is_edited_since_publishing:
        assign(session, children, session.published_by, now)


def _children_of(words: Sequence[Word]) -> list[Child]:
    return sorted({word.child for word in words}, key=lambda child: child.pk)


type Stops = dict[Word, tuple[CheckResult, ...]]


def _stops_against(fitted: FittedSession, words: Sequence[Word]) -> Stops:
    """What the checks stop of these, by word."""
    slugs = {word: word.exercise.slug for word in words if word.exercise}
    if not slugs:
        return {}
    around = Around.of(fitted)
    found = {word: around.stops_against(word.slot, word.child, slugs[word]) for word in slugs}
    return {word: stops for word, stops in found.items() if stops}


def _forget_here(words: Sequence[Word]) -> None:
    """What was said of this session alone in these places."""
    places = {(word.slot.pk, word.child.pk) for word in words}
    there = Override.objects.filter(
        slot__in={slot for slot, _ in places}, child__in={child for _, child in places}
    )
    over = [each.pk for each in there if (each.slot_id, each.child_id) in places]
    Override.objects.filter(pk__in=over).delete()


def _for_this_session(words: Sequence[Word], stops: Stops, said: Said) -> list[Override]:
    return [
        Override(
            slot=word.slot,
            child=word.child,
            exercise=word.exercise,
            note=said.note,
            set_by=said.by,
            **_in_spite_of(word, stops, said),
        )
        for word in words
    ]


def _for_all_sessions(
    words: Sequence[Word], fitted: FittedSession, stops: Stops, said: Said
) -> list[StandingDecision]:
    """One for each child and exercise, however often that is written in the session. What is
    decided where nothing fits holds where nothing fits."""
    by_exercise = {(word.child.pk, word.slot.exercise_id): word for word in words}
    return [
        StandingDecision(
            child=word.child,
            written_id=written,
            exercise=word.exercise,
            where_nothing_fits=_is_open_otherwise(word, fitted),
            note=said.note,
            **_standing(fitted.session, said),
            **_in_spite_of(word, stops, said),
        )
        for (_, written), word in by_exercise.items()
    ]


def _is_open_otherwise(word: Word, fitted: FittedSession) -> bool:
    """Whether fit has nothing to give there as long as the coach says nothing."""
    found = fitted.without_word(word.slot, word.child)[fitted.slots.index(word.slot)]
    return found.given is None


def _end_those_before(words: Sequence[Word], session: Session, said: Said) -> None:
    """What stood for these children and exercises at this place."""
    meant = {(word.child.pk, word.slot.exercise_id) for word in words}
    there = StandingDecision.objects.standing().filter(
        child__in={child for child, _ in meant},
        written__in={written for _, written in meant},
        cohort=session.block.cohort,
        place=session.place,
    )
    over = [each.pk for each in there if (each.child_id, each.written_id) in meant]
    there.filter(pk__in=over).update(ended_at=said.at, ended_by=said.by)


def _in_spite_of(word: Word, stops: Stops, said: Said) -> dict[str, Any]:
    if word not in stops:
        return {}
    sentences = [stop.sentence for stop in stops[word]]
    return {"in_spite_of": sentences, "because": said.because.strip()}


def _standing(session: Session, said: Said) -> dict[str, Any]:
    block = session.block if said.lasts == Lasts.BLOCK else None
    return {
        "cohort": session.block.cohort,
        "place": session.place,
        "lasts": said.lasts,
        "block": block,
        "until": said.until if said.lasts == Lasts.DAY else None,
        "set_by": said.by,
        "set_at": said.at,
    }
