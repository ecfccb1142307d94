"""The way back: after a pain step by step, and after time away through a lighter week.

Common practice, from memory, with no published threshold behind any number: whoever knows the
child, and what a doctor or physiotherapist has said, goes first. So a program sets its own
thresholds, and no step is ever taken by itself.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from program.engine.attendance import Due
from program.engine.fit.limits import ReturnStep

STEPS: Final = (ReturnStep.PAIN_FREE, ReturnStep.EASIER, ReturnStep.HALF)
"""In order; after the last everything is as written."""

PAIN_FREE_DAYS: Final = 1
SESSIONS_AT_A_STEP: Final = 2
LIGHTER_AFTER_DAYS: Final = 14
LIGHTER_AFTER_ILLNESS: Final = 7

LIGHTER_FOR: Final = dt.timedelta(days=7)
ASKED_AGAIN_AFTER: Final = dt.timedelta(days=14)
"""How long a step may last before it is asked about, whatever was done: none is forgotten."""
OFFERED_AHEAD: Final = dt.timedelta(days=7)
"""How long before the first session back a lighter week is offered."""


@dataclass(frozen=True, slots=True)
class Thresholds:
    """What a program sets. `pain_free_days` before anything is worked again; `sessions_at_a_step`
    without pain before the next; days without a session after which a lighter week is offered, and
    after an illness."""

    pain_free_days: int = PAIN_FREE_DAYS
    sessions_at_a_step: int = SESSIONS_AT_A_STEP
    lighter_after_days: int = LIGHTER_AFTER_DAYS
    lighter_after_illness: int = LIGHTER_AFTER_ILLNESS


def after(step: ReturnStep) -> ReturnStep | None:
    """The next step; None where everything is as written."""
    place = STEPS.index(step) + 1
    return STEPS[place] if place < len(STEPS) else None


def before(step: ReturnStep) -> ReturnStep | None:
    place = STEPS.index(step)
    return STEPS[place - 1] if place else None


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a step has come: since when nothing was reported of the place, and the sessions done
    after that day in which nothing hurt."""

    step: ReturnStep
    began: dt.date
    quiet_since: dt.date
    sessions: int

    def is_due(self, thresholds: Thresholds, today: dt.date) -> bool:
        """Whether the next step may be asked about; a step that lasts long is, in any case."""
        return self._is_reached(thresholds, today) or today - self.began >= ASKED_AGAIN_AFTER

    def _is_reached(self, thresholds: Thresholds, today: dt.date) -> bool:
        if self.step is ReturnStep.PAIN_FREE:
            return (today - self.quiet_since).days >= thresholds.pain_free_days
        return self.sessions >= thresholds.sessions_at_a_step


def progress(
    step: ReturnStep,
    began: dt.date,
    last_pain: dt.date | None,
    done_without_pain: Iterable[dt.date],
) -> Progress:
    """`done_without_pain` are the days of sessions; one on the day of the step, or of the last
    report, may have come before it and is not counted."""
    quiet_since = max(began, last_pain or began)
    counted = sum(1 for day in done_without_pain if day > quiet_since)
    return Progress(step, began, quiet_since, counted)


@dataclass(frozen=True, slots=True)
class TimeAway:
    """Days between the last session that was done and the next one."""

    since: dt.date
    back_on: dt.date
    was_ill: bool

    @property
    def days(self) -> int:
        return (self.back_on - self.since).days


def time_away(
    last_done: dt.date | None,
    back_on: dt.date | None,
    sessions: Sequence[Due],
    thresholds: Thresholds,
    today: dt.date,
) -> TimeAway | None:
    """Time away after which a lighter week is offered; None for none, or while the first session
    back is not near. `sessions` are those of the last weeks; a child that has never done one has
    nothing to come back to."""
    if last_done is None or back_on is None or back_on - today > OFFERED_AHEAD:
        return None
    was_ill = any(each.told == "sick" and last_done < each.on < back_on for each in sessions)
    away = TimeAway(last_done, back_on, was_ill)
    enough = thresholds.lighter_after_illness if was_ill else thresholds.lighter_after_days
    return away if away.days >= min(enough, thresholds.lighter_after_days) else None
