"""A child's way back, one step at a time, and a lighter week after time away: begun, gone on with,
and taken back. What is not started is chosen anew after the commit."""

import datetime as dt
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from athletes.changes import lift, lock, tell
from athletes.models import Child, User
from athletes.signals import Circumstance
from athletes.undo import undo_lift
from library.body import Region, Side
from program.engine.fit.limits import ReturnStep
from program.engine.way_back import LIGHTER_FOR
from program.models import WayBackStep

type Taken = dict[str, Any]
"""The step `taken`, None where everything is as written now; the one it followed, `was`; and the
restrictions `lifted` for it."""


@transaction.atomic
def begin(child: Child, region: Region, side: Side, by: User, today: dt.date) -> Taken:
    """Begin with a day without pain, in place of whatever restriction there is of this place."""
    lock(child)
    step = _take(child, region, side, ReturnStep.PAIN_FREE, by, today)
    place = child.restrictions.filter(region=region, side=side, lifted_on__isnull=True)
    lifted = [each.pk for each in place if lift(each, by, today)]
    return step | {"lifted": lifted}


@transaction.atomic
def go_to(current: WayBackStep, step: ReturnStep | None, by: User, today: dt.date) -> Taken:
    """The next step, or one back; None ends the way back, and everything is as written. Raises a
    ValidationError where somebody has taken a step meanwhile."""
    child = lock(current.child)
    if not WayBackStep.objects.current().filter(pk=current.pk).exists():
        raise ValidationError("Somebody has taken a step meanwhile.", code="moved")
    return _take(child, Region(current.region), Side(current.side), step, by, today)


@transaction.atomic
def start_over(child: Child, region: Region, side: Side, by: User, today: dt.date) -> list[Taken]:
    """Back to a day without pain for what of the place is on its way back: of this side, or where
    no side was named."""
    current = lock(child).way_back_steps.current().filter(region=region)
    begun = current.exclude(step=ReturnStep.PAIN_FREE)
    if side is not Side.BOTH:
        begun = begun.filter(side__in=[side, Side.BOTH])
    sides = [Side(each.side) for each in begun]
    return [_take(child, region, each, ReturnStep.PAIN_FREE, by, today) for each in sides]


@transaction.atomic
def lighten(child: Child, first: dt.date, by: User, today: dt.date) -> Taken:
    """A lighter week from the first session back."""
    lock(child)
    weeks = child.way_back_steps.current().filter(region="")
    was = list(weeks.values_list("pk", flat=True))
    for each in weeks:
        _end(each, max(each.since, min(first, today)), by)
    taken = child.way_back_steps.create(
        step=ReturnStep.LIGHTER.value,
        since=first,
        until=first + LIGHTER_FOR - dt.timedelta(days=1),
        set_by=by,
    )
    tell(child, Circumstance.WAY_BACK)
    return {"taken": taken.pk, "was": was[0] if was else None}


@transaction.atomic
def undo_step(child: Child, taken: Taken) -> bool:
    """As it was before; False where another step was taken since."""
    lock(child)
    steps = child.way_back_steps
    was = steps.filter(pk=taken["was"]).first() if taken["was"] else None
    if taken["taken"]:
        if not steps.current().filter(pk=taken["taken"]).delete()[0]:
            return False
    elif was is None or _is_on_its_way(child, was):
        return False
    if was is not None:
        was.ended_on = was.ended_by = None
        was.save(update_fields=["ended_on", "ended_by"])
    tell(child, Circumstance.WAY_BACK)
    lifted = child.restrictions.filter(pk__in=taken.get("lifted", []))
    return all(undo_lift(each) for each in lifted)


def _is_on_its_way(child: Child, step: WayBackStep) -> bool:
    same = child.way_back_steps.current().filter(region=step.region, side=step.side)
    return same.exists()


def _take(
    child: Child, region: Region, side: Side, step: ReturnStep | None, by: User, today: dt.date
) -> Taken:
    place = {"region": region.value, "side": side.value}
    was = child.way_back_steps.current().filter(**place).first()
    if was:
        _end(was, max(was.since, today), by)
    taken = None
    if step:
        taken = child.way_back_steps.create(**place, step=step.value, since=today, set_by=by)
    tell(child, Circumstance.WAY_BACK)
    return {"taken": taken and taken.pk, "was": was and was.pk}


def _end(step: WayBackStep, on: dt.date, by: User) -> None:
    step.ended_on, step.ended_by = on, by
    step.save(update_fields=["ended_on", "ended_by"])
