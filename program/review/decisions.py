"""Answering a finding, and taking the answer back: who, when and what are kept.

An answer is one transaction, and answering twice does no more than once. What it changes about the
child is fitted anew after the commit, like any other change; `note_refits` says what that did.
"""

import datetime as dt
from typing import Any, Final

from django.db import transaction

from athletes.changes import Restricted, Rule, lift, lock, place, restrict, set_growing_fast
from athletes.models import Child, User
from athletes.undo import undo_lift, undo_placement, undo_restriction
from library.body import Region, RestrictionKind, Side
from library.models import Exercise
from library.shared.dates import date_in_words
from library.shared.task_queue import lock_of, wait_for
from program.ask import answering
from program.models import PainReport, Refit, Resolution
from program.models.resolutions import Do, Kind
from program.review.dose_raises import raise_doses, undo_raises
from program.review.finding import Action, Finding
from program.review.findings.changes import outcome_in_words

type Before = dict[str, Any]
"""What taking an answer back needs to know, as it is kept beside it."""

SPARES: Final = dt.timedelta(days=14)
"""How long "two weeks" of sparing a region are."""

GENTLY: Final = dt.timedelta(weeks=12)


class CannotUndo(Exception):
    """Something else was decided since; the message says what to do."""


class NotACoach(Exception):
    """Somebody a finding cannot be handed to; the message says why."""


class UnfitDay(Exception):
    """A day a finding cannot be put off to; the message says why."""


@transaction.atomic
def resolve(
    finding: Finding, action: Action, by: User, now: dt.datetime, today: dt.date
) -> Resolution:
    """Do what the action says and note it. Raises a ValidationError where it cannot be done."""
    if there := _answered(finding, today):
        return there
    before = _do(finding, action, by, now, today)
    _see(finding, by, now)
    until = None if action.days is None else today + dt.timedelta(days=action.days)
    told = f"{finding.headline}: {action.label[0].lower()}{action.label[1:]}."
    return _note(finding, action.code, told, by, now, until, before)


@transaction.atomic
def put_off(
    finding: Finding, until: dt.date, by: User, now: dt.datetime, today: dt.date
) -> Resolution:
    """Out of the queue until a day. Raises UnfitDay for one that is not ahead or a year away."""
    if not today < until <= today + dt.timedelta(days=366):
        raise UnfitDay("Choose a day from tomorrow on, within a year.")
    if there := _answered(finding, today):
        return there
    told = f"{finding.headline}: put off until {date_in_words(until)}."
    return _note(finding, Do.LATER, told, by, now, until, {})


@transaction.atomic
def hand(finding: Finding, to: int, by: User, now: dt.datetime, today: dt.date) -> Resolution:
    """Give it to one coach of the child, oneself included. Raises NotACoach for anybody else."""
    if to != by.pk and to not in {each.pk for each in finding.who.colleagues}:
        raise NotACoach("Choose a coach of this child.")
    if there := _answered(finding, today):
        return there
    with_somebody = Resolution.objects.handed().filter(child=finding.who.child, finding=finding.key)
    if same := with_somebody.filter(to=to).first():
        return same
    with_somebody.update(undone_at=now, undone_by=by)
    coach = User.objects.get(pk=to)
    told = f"{finding.headline[:200]}: handed to {coach}."
    return _note(finding, Do.HAND, told, by, now, None, {}, coach)


@transaction.atomic
def undo(resolution: Resolution, by: User, now: dt.datetime) -> None:
    """Undo an answer; the finding is asked again if it is still so. A second time does nothing.

    Raises CannotTakeBack, and changes nothing, where something else was decided since.
    """
    locked = Resolution.objects.select_for_update(of=("self",)).get(pk=resolution.pk)
    if locked.undone_at is not None:
        return
    if not _undo(locked, by, now):
        raise CannotUndo(
            "Something else was decided about this since, so it stays. Change it on the child’s "
            "own page."
        )
    _unsee(locked)
    locked.note_undone(by, now)


def note_refits(child: Child, since: dt.datetime, by: User) -> str:
    """What the change did to sessions not yet started, in words, "" for nothing. Whoever made the
    change has seen this and is not asked about it again. Call after the commit: this waits a moment
    for the worker."""
    if not wait_for(lock_of(child.pk)):
        return "What is ahead is being chosen anew."
    refits = Refit.objects.unseen().filter(child=child, at__gte=since)
    told = list(refits)
    if not told:
        return ""
    refits.update(seen_at=since, seen_by=by)
    return outcome_in_words(told)


def _answered(finding: Finding, today: dt.date) -> Resolution | None:
    """The answer there already is. Two coaches answer about one child one after the other."""
    child = lock(finding.who.child)
    return Resolution.objects.hiding(today).filter(child=child, finding=finding.key).first()


def _note(
    finding: Finding,
    code: str,
    told: str,
    by: User,
    now: dt.datetime,
    until: dt.date | None,
    before: Before,
    to: User | None = None,
) -> Resolution:
    return Resolution.objects.create(
        child=finding.who.child,
        finding=finding.key,
        action=code,
        sentence=told,
        by=by,
        at=now,
        until=until,
        before=before,
        to=to,
    )


def _see(finding: Finding, by: User, now: dt.datetime) -> None:
    """Whatever is done about a report or a change, it has been seen."""
    child = finding.who.child
    if finding.kind is Kind.PAIN:
        PainReport.objects.filter(child=child, pk__in=finding.subjects).mark_seen(by, now)
    elif finding.kind is Kind.CHANGED:
        refits = Refit.objects.unseen().filter(child=child, pk__lte=finding.subjects[0])
        refits.update(seen_at=now, seen_by=by)


def _unsee(resolution: Resolution) -> None:
    seen = {"child": resolution.child_id, "seen_at": resolution.at}
    PainReport.objects.filter(**seen).update(seen_at=None, seen_by=None)
    Refit.objects.filter(at__lt=resolution.at, **seen).update(seen_at=None, seen_by=None)


def _do(finding: Finding, action: Action, by: User, now: dt.datetime, today: dt.date) -> Before:
    """Change what the action changes about the child; what taking it back needs to know."""
    child = finding.who.child
    match action.do:
        case Do.NO_LANDING | Do.NO_LOADING:
            return _spare(child, finding, RestrictionKind(action.do), by, today)
        case Do.EXTEND:
            return _extend(child, finding, by, today)
        case Do.LIFT:
            restriction = child.restrictions.get(pk=finding.subjects[0])
            lift(restriction, by, today)
            return {"lifted": restriction.pk}
        case Do.PLACE:
            return _place(child, finding, action, by)
        case Do.ADD:
            pairs = (each.split(".") for each in action.target.split(","))
            more = {int(placement): int(much) for placement, much in pairs}
            return {"raised": raise_doses(child, more, by, now)}
        case Do.GENTLY:
            until, was = today + GENTLY, child.growing_fast_until
            set_growing_fast(child, until)
            return {"gently": until.isoformat(), "was": was.isoformat() if was else None}
        case _:
            return {}


def _place(child: Child, finding: Finding, action: Action, by: User) -> Before:
    """With what the family is told: what was learnt, where it was, and what is next."""
    placement = child.placements.with_names().get(pk=finding.subjects[0])
    exercise = Exercise.objects.select_related("current").get(slug=action.target)
    placed = place(child, placement.pathway, exercise, by, finding.reason).pk
    if finding.kind is not Kind.MOVE_ON:
        return {"placed": placed}
    return {"placed": placed, "learnt": str(placement.exercise), "next": str(exercise)}


def _spare(
    child: Child, finding: Finding, kind: RestrictionKind, by: User, today: dt.date
) -> Before:
    report = PainReport.objects.get(child=child, pk=finding.subjects[0])
    where = Region(report.region), Side(report.side)
    rule = Rule(*where, kind, today, today + SPARES, finding.headline[:200])
    return _restricted(restrict(child, rule, by, today))


def _extend(child: Child, finding: Finding, by: User, today: dt.date) -> Before:
    """One that is over is answered and set anew; one in force is stretched."""
    old = child.restrictions.get(pk=finding.subjects[0])
    where = Region(old.region), Side(old.side), RestrictionKind(old.kind)
    is_over = old.until < today
    rule = Rule(*where, today if is_over else old.start, today + SPARES, old.note)
    before = _restricted(restrict(child, rule, by, today))
    return before | ({"lifted": old.pk} if is_over else {})


def _restricted(made: Restricted) -> Before:
    """Nothing to take back where it was so already."""
    if not made.changed:
        return {}
    was = made.before.isoformat() if made.before else None
    return {
        "restriction": made.restriction.pk,
        "until": made.restriction.until.isoformat(),
        "was": was,
    }


def _undo(resolution: Resolution, by: "User", now: dt.datetime) -> bool:
    """False where something else was decided since."""
    before, child = resolution.before, resolution.child
    if "placed" in before:
        placement = child.placements.select_related("child").filter(pk=before["placed"]).first()
        return placement is not None and undo_placement(placement)
    if "raised" in before:
        return undo_raises(child, before["raised"])
    if "question" in before:
        return answering.undo_answer(before, child, by, now)
    if "gently" in before:
        return _undo_gently(child, before)
    if "restriction" in before and not _undo_restriction(child, before):
        return False
    if "lifted" in before:
        restriction = child.restrictions.filter(pk=before["lifted"]).first()
        return restriction is not None and undo_lift(restriction)
    return True


def _undo_gently(child: Child, before: Before) -> bool:
    if child.growing_fast_until != dt.date.fromisoformat(before["gently"]):
        return False
    was = dt.date.fromisoformat(before["was"]) if before["was"] else None
    return set_growing_fast(child, was)


def _undo_restriction(child: Child, before: Before) -> bool:
    until = dt.date.fromisoformat(before["until"])
    restriction = child.restrictions.filter(pk=before["restriction"], until=until).first()
    was = dt.date.fromisoformat(before["was"]) if before["was"] else None
    return restriction is not None and undo_restriction(restriction, was)
