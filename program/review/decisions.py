"""Answering a finding, and taking the answer back: who, when and what are kept.

An answer is one transaction, and answering twice does no more than once. What it changes about the
child is fitted anew after the commit, like any other change; `note_refits` says what that did.
"""

import datetime as dt
from collections.abc import Collection, Iterable
from typing import Any, Final

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from athletes.changes import Restricted, Rule, lift, lock, place, restrict, set_growing_fast, tell
from athletes.inviting_again import take_back_invitations
from athletes.models import Child, User
from athletes.signals import Circumstance
from athletes.undo import undo_lift, undo_placement, undo_restriction
from library.body import Region, RestrictionKind, Side
from library.models import Exercise
from library.shared.dates import date_in_words
from library.shared.reasons import NO_WORDS, is_in_words
from library.shared.task_queue import Queue, enqueue, lock_of, task, wait_for
from program.ask import answering
from program.engine.fit.limits import ReturnStep
from program.log.pain_mail import tell_it_came_back
from program.log.pain_reports import take_back
from program.models import PainReport, Refit, Resolution
from program.models.resolutions import TOGETHER, Do, Kind
from program.review.dose_raises import raise_doses, undo_raises
from program.review.finding import Action, Finding
from program.review.findings.changes import outcome_in_words
from program.review.findings.pain import is_of_two_sides
from program.review.findings.way_back import OVER
from program.review.ways_back import Taken, begin, go_to, lighten, start_over, undo_step

type Before = dict[str, Any]
"""What taking an answer back needs to know, as it is kept beside it."""

SPARES: Final = dt.timedelta(days=14)
"""How long "two weeks" of sparing a region are."""

GENTLY: Final = dt.timedelta(weeks=12)

PAIN_CAN_WAIT: Final = dt.timedelta(days=3)
"""How long at most a report of pain is put off. A house rule."""

A_DAY: Final = dt.timedelta(days=1)
"""After which what was handed on and not answered comes back."""


class CannotUndo(Exception):
    """Something else was decided since; the message says what to do."""


class NotACoach(Exception):
    """Somebody a finding cannot be handed to; the message says why."""


class UnfitDay(Exception):
    """A day a finding cannot be put off to; the message says why."""


@transaction.atomic
def resolve(
    finding: Finding,
    action: Action,
    by: User,
    now: dt.datetime,
    today: dt.date,
    because: str = "",
    together: str = "",
    done: Before | None = None,
) -> Resolution:
    """Do what the action says and note it; those answered in one press carry the same `together`,
    and `done` is what was done already. Raises a ValidationError where it cannot be done, or has to
    say why and does not."""
    if there := _answered(finding, today):
        return there
    because = because if action.wants_reason else ""
    if action.wants_reason and not is_in_words(because):
        raise ValidationError(NO_WORDS, code="reason")
    before = _do(finding, action, by, now, today, because) if done is None else done
    _see(finding, action, by, now)
    until = None if action.days is None else today + dt.timedelta(days=action.days)
    told = f"{finding.headline}: {action.label[0].lower()}{action.label[1:]}."
    if because:
        told = f"{told} “{because}”"
    return _note(finding, action.code[:80], told[:300], by, now, until, before, together=together)


@transaction.atomic
def put_off(
    finding: Finding,
    until: dt.date,
    by: User,
    now: dt.datetime,
    today: dt.date,
    together: str = "",
) -> Resolution:
    """Out of the queue until a day; what hurts stays spared meanwhile. Raises UnfitDay for one that
    is not ahead, or too far."""
    if finding.is_pressing and not today < until <= today + PAIN_CAN_WAIT:
        raise UnfitDay("Pain waits for three days at most. Choose a day from tomorrow on.")
    if not today < until <= today + dt.timedelta(days=366):
        raise UnfitDay("Choose a day from tomorrow on, within a year.")
    if there := _answered(finding, today):
        return there
    told = f"{finding.headline}: put off until {date_in_words(until)}."
    return _note(finding, Do.LATER, told, by, now, until, {}, together=together)


@transaction.atomic
def hand(
    finding: Finding,
    to: int,
    by: User,
    now: dt.datetime,
    today: dt.date,
    origin: str,
    together: str = "",
) -> Resolution:
    """Give it to one coach of the child, oneself included. Pain comes back after a day without an
    answer; `origin` is the site's address, for the mail that says so. Raises NotACoach for anybody
    else."""
    if to != by.pk and to not in {each.pk for each in finding.who.colleagues}:
        raise NotACoach("Choose a coach of this child.")
    if there := _answered(finding, today):
        return there
    with_somebody = Resolution.objects.handed().filter(child=finding.who.child, finding=finding.key)
    if same := with_somebody.filter(to=to).first():
        return same
    with_somebody.update(undone_at=now, undone_by=by)
    coach = User.objects.get(pk=to)
    told = f"{finding.headline[:200]}: given to {coach}."
    about = {"about": list(finding.subjects)}
    handed = _note(finding, Do.HAND, told, by, now, None, about, coach, together)
    if finding.kind is Kind.PAIN:
        enqueue(give_back, at=now + A_DAY, resolution=handed.pk, origin=origin)
    return handed


@task("program.give_back", Queue.CHANGES)
def give_back(resolution: int, origin: str) -> None:
    """A report that was handed on and is not answered after a day is everybody's again, and both
    coaches are told."""
    with transaction.atomic():
        handed = Resolution.objects.handed().filter(pk=resolution).select_for_update(of=("self",))
        found = handed.select_related("child", "by", "to").first()
        if found is None:
            return
        about = PainReport.objects.unanswered().filter(pk__in=found.before.get("about", []))
        if about.exists():
            Resolution.objects.filter(pk=found.pk).update(undone_at=timezone.now())
            tell_it_came_back(found, origin)


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


def note_refits(children: Collection[Child], since: dt.datetime, by: User) -> str:
    """What the change did to their sessions not yet started, in words, "" for nothing. Whoever made
    the change has seen this and is not asked about it again. Call after the commit: this waits a
    moment for the worker."""
    if not wait_for(*(lock_of(child.pk) for child in children)):
        return "What is ahead is being chosen anew."
    refits = Refit.objects.unseen().filter(child__in=children, at__gte=since)
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
    together: str = "",
) -> Resolution:
    return Resolution.objects.create(
        child=finding.who.child,
        finding=finding.key,
        action=code,
        sentence=told,
        by=by,
        at=now,
        until=until,
        before=before | ({TOGETHER: together} if together else {}),
        to=to,
    )


def _see(finding: Finding, action: Action, by: User, now: dt.datetime) -> None:
    """Whatever is done about a report or a change, it has been seen. A report that was about
    another child is taken back and not answered, nor is what else the finding tells of."""
    child = finding.who.child
    if action.do is Do.WRONG_CHILD:
        return
    if finding.kind is Kind.PAIN:
        if PainReport.objects.filter(child=child, pk__in=finding.subjects).answer(by, now):
            Refit.objects.unseen().filter(child=child, what=Circumstance.PAIN).update(
                seen_at=now, seen_by=by
            )
            tell(child, Circumstance.PAIN)
    elif finding.kind is Kind.CHANGED:
        refits = Refit.objects.unseen().filter(child=child, pk__lte=finding.subjects[0])
        refits.update(seen_at=now, seen_by=by)


def _unsee(resolution: Resolution) -> None:
    child, at = resolution.child, resolution.at
    answered = PainReport.objects.filter(child=child, answered_at=at)
    if answered.update(answered_at=None, answered_by=None):
        tell(child, Circumstance.PAIN)
    seen = Refit.objects.filter(child=child, at__lt=at, seen_at=at)
    seen.update(seen_at=None, seen_by=None)


def _do(
    finding: Finding, action: Action, by: User, now: dt.datetime, today: dt.date, because: str
) -> Before:
    """Change what the action changes about the child; what taking it back needs to know."""
    child = finding.who.child
    match action.do:
        case Do.NO_LANDING | Do.NO_LOADING | Do.NOTHING:
            return _spare(child, finding, action, by, today)
        case Do.REST:
            return _restrict_all(child, [_rest(finding, today)], by, today)
        case Do.WRONG_CHILD:
            return {"taken_back": _take_back(finding, action, by, now, because)}
        case Do.EXTEND:
            return _extend(child, finding, by, today)
        case Do.LIFT:
            restriction = child.restrictions.get(pk=finding.subjects[0])
            lift(restriction, by, today)
            return {"lifted": restriction.pk}
        case Do.WAY_BACK | Do.GO_TO | Do.LIGHTER:
            return {"way_back": [_way_back(child, finding, action, by, today)]}
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
    if finding.kind is not Kind.MOVE_ON or exercise == placement.exercise:
        return {"placed": placed}
    return {"placed": placed, "learnt": str(placement.exercise), "next": str(exercise)}


def _spare(child: Child, finding: Finding, action: Action, by: User, today: dt.date) -> Before:
    """The place of the reports, both sides where they name more than one; nothing at all for the
    whole leg where a sign in one says so."""
    reports = list(child.pain_reports.filter(pk__in=finding.subjects).with_people())
    report, kind = reports[0], RestrictionKind(action.do)
    side = Side.BOTH if is_of_two_sides(reports) else Side(report.side)
    without = tuple(Exercise.objects.filter(slug__in=action.target.split(",")))
    regions = {Region(report.region)}
    if kind is RestrictionKind.NOTHING:
        regions |= {rule.region for each in reports for rule in each.pain.spares if rule.region}
    rules = [
        Rule(
            region,
            side,
            kind,
            today,
            today + SPARES,
            finding.headline[:200],
            without,
        )
        for region in sorted(regions)
    ]
    spared = _restrict_all(child, rules, by, today)
    places = [(each.region, each.side) for each in rules if each.region]
    over = [one for place in places for one in start_over(child, *place, by, today)]
    return spared | {"way_back": over}


def _way_back(child: Child, finding: Finding, action: Action, by: User, today: dt.date) -> Taken:
    match action.do:
        case Do.WAY_BACK:
            rule = child.restrictions.get(pk=finding.subjects[0])
            return begin(child, Region(rule.region), Side(rule.side), by, today)
        case Do.LIGHTER:
            return lighten(child, dt.date.fromisoformat(action.target), by, today)
        case _:
            step = None if action.target == OVER else ReturnStep(action.target)
            current = child.way_back_steps.select_related("child").get(pk=finding.subjects[0])
            return go_to(current, step, by, today)


def _rest(finding: Finding, today: dt.date) -> Rule:
    nothing = RestrictionKind.NOTHING
    return Rule(None, Side.BOTH, nothing, today, today + SPARES, finding.headline[:200])


def _restrict_all(child: Child, rules: Iterable[Rule], by: User, today: dt.date) -> Before:
    made = (_restricted(restrict(child, rule, by, today)) for rule in rules)
    return {"restrictions": [each for each in made if each]}


def _take_back(
    finding: Finding, action: Action, by: User, now: dt.datetime, because: str
) -> list[int]:
    """Those that the action names, of one side; all of them where there is but one."""
    about = [int(each) for each in action.target.split(",") if each] or finding.subjects
    reports = PainReport.objects.standing().filter(child=finding.who.child, pk__in=about)
    return [each.pk for each in reports if take_back(each, by, now, because[:200])]


def _extend(child: Child, finding: Finding, by: User, today: dt.date) -> Before:
    """One that is over is answered and set anew; one in force is stretched."""
    old = child.restrictions.get(pk=finding.subjects[0])
    region = Region(old.region) if old.region else None
    where = region, Side(old.side), RestrictionKind(old.kind)
    is_over = old.until < today
    start, without = today if is_over else old.start, tuple(old.without.all())
    rule = Rule(*where, start, today + SPARES, old.note, without)
    before = _restrict_all(child, [rule], by, today)
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
    if "invited" in before:
        return take_back_invitations(before["invited"], now)
    if "taken_back" in before:
        return _stand_again(child, before["taken_back"])
    if not all(undo_step(child, each) for each in before.get("way_back", ())):
        return False
    # What was decided by an earlier release names its one restriction itself.
    set_then = before.get("restrictions", [before] if "restriction" in before else [])
    if not all(_undo_restriction(child, each) for each in set_then):
        return False
    if "lifted" in before:
        restriction = child.restrictions.filter(pk=before["lifted"]).first()
        return restriction is not None and undo_lift(restriction)
    return True


def _stand_again(child: Child, reports: list[int]) -> bool:
    taken = PainReport.objects.filter(child=child, pk__in=reports, taken_back_at__isnull=False)
    stood = taken.update(taken_back_at=None, taken_back_by=None, taken_back_because="")
    if stood:
        tell(child, Circumstance.PAIN)
    return bool(stood)


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
