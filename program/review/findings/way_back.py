"""The way back of a place that hurt, step by step, and a lighter week after time away. Common
practice throughout; see `engine/way_back.py`."""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from athletes.models import Restriction
from library.body import Side
from library.shared.dates import short_weekday_and_date
from program.common.wording import number
from program.engine.fit.limits import ReturnStep
from program.engine.way_back import (
    Progress,
    Thresholds,
    TimeAway,
    after,
    before,
    progress,
    time_away,
)
from program.engine.wording import plural
from program.models import PainReport, WayBackStep
from program.models.resolutions import Do, Kind
from program.review.children import Who
from program.review.finding import Action, Finding
from program.review.queries import ReviewRows

OVER: Final = "over"
"""The target of the action that ends a way back."""

ASK_IN_A_WEEK: Final = 7
ASK_IN_TWO_DAYS: Final = 2

_ON_TO: Final = {
    ReturnStep.EASIER: "On to easier exercises",
    ReturnStep.HALF: "On to half the dose",
    None: "As written again",
}
_BACK_TO: Final = {
    ReturnStep.PAIN_FREE: "Back to a day without pain",
    ReturnStep.EASIER: "Back to easier exercises",
}
BEGIN: Final = Action(Do.WAY_BACK, "Begin the way back")
"""From sparing a place over easier exercises and half the dose to as written."""


@dataclass(frozen=True)
class OnTheWay:
    """What a way back is judged from: the `steps` places are on, what hurts and nobody has answered
    yet, what is restricted or was and nobody has said that it is fine, and by child the days on
    which a session was done whole and nothing hurt."""

    today: dt.date
    thresholds: Thresholds
    steps: Sequence[WayBackStep]
    pains: Sequence[PainReport]
    restrictions: Sequence[Restriction]
    quiet_days: Mapping[int, Sequence[dt.date]]

    def findings(self, who: Mapping[int, Who], *, early: bool) -> Iterator[Finding]:
        """The ways back whose next step may be asked about; with `early` those where it is early
        for that, and the step may be taken with a reason."""
        for step in self.steps:
            if not step.region or self._is_asked_otherwise(step):
                continue
            came = self._progress_of(step)
            if early is not came.is_due(self.thresholds, self.today):
                yield step_finding(who[step.child_id], step, came, self.thresholds, early=early)

    def _progress_of(self, step: WayBackStep) -> Progress:
        days = self.quiet_days.get(step.child_id, ())
        return progress(ReturnStep(step.step), step.since, step.last_pain_on, days)

    def _is_asked_otherwise(self, step: WayBackStep) -> bool:
        """Whether the place hurts anew or is restricted: that is asked first."""
        return any(
            (each.child_id, each.region) == (step.child_id, step.region) for each in self.pains
        ) or any(
            each.child_id == step.child_id and is_of_the_place(each, step)
            for each in self.restrictions
        )


def way_back_findings(rows: ReviewRows) -> Iterator[Finding]:
    """Each way back whose next step may be asked about, and each lighter week to be offered."""
    yield from _on_the_way(rows).findings(rows.who, early=False)
    yield from _lighter_weeks(rows)


def early_steps(rows: ReviewRows) -> Iterator[Finding]:
    """The ways back that are asked about on the child's own page alone."""
    yield from _on_the_way(rows).findings(rows.who, early=True)


def _on_the_way(rows: ReviewRows) -> OnTheWay:
    quiet = {
        child: [each.felt_on for each in those if each.is_done_whole and not each.hurt]
        for child, those in rows.sessions.items()
    }
    return OnTheWay(
        rows.today, rows.thresholds, rows.ways_back, rows.pains, rows.restrictions, quiet
    )


def is_of_the_place(rule: Restriction, step: WayBackStep) -> bool:
    """Whether a restriction is about the place that is on its way back."""
    sides = {rule.side, step.side}
    return rule.region == step.region and (len(sides) == 1 or Side.BOTH in sides)


def step_finding(
    who: Who, step: WayBackStep, came: Progress, thresholds: Thresholds, *, early: bool = False
) -> Finding:
    return Finding(
        key=f"{Kind.WAY_BACK}-{step.pk}",
        kind=Kind.WAY_BACK,
        who=who,
        subjects=(step.pk,),
        headline=f"{step}. {_ON_TO[after(came.step)]}?",
        evidence=(_came_so_far(came, thresholds), _WHAT_COMES[came.step]),
        actions=tuple(_steps(came.step, early=early)),
        on=step.since,
    )


def _steps(step: ReturnStep, *, early: bool) -> Iterator[Action]:
    on = after(step)
    yield Action(Do.GO_TO, _ON_TO[on], target=on or OVER, wants_reason=early)
    if not early:
        wait = ASK_IN_TWO_DAYS if step is ReturnStep.PAIN_FREE else ASK_IN_A_WEEK
        yield Action(Do.SEEN, f"Not yet, ask in {number(wait)} days", days=wait)
    if back := before(step):
        yield Action(Do.GO_TO, _BACK_TO[back], target=back)


_WHAT_COMES: Final = {
    ReturnStep.PAIN_FREE: "Until then nothing loads it. Ask about stairs and play, too. Then come "
    "easier exercises without landings.",
    ReturnStep.EASIER: "Then come the exercises themselves, landings among them, at half the dose.",
    ReturnStep.HALF: "Then everything is as written, at the pace of the others.",
}


def _came_so_far(came: Progress, thresholds: Thresholds) -> str:
    since = short_weekday_and_date(came.quiet_since)
    if came.step is ReturnStep.PAIN_FREE:
        return f"Nothing reported of it since {since}; {_days(thresholds)} without pain first."
    done = plural(came.sessions, "session")
    wanted = thresholds.sessions_at_a_step
    return f"{done} done since {since} with nothing hurting; {wanted} come before the next step."


def _days(thresholds: Thresholds) -> str:
    return plural(thresholds.pain_free_days, "day")


def _lighter_weeks(rows: ReviewRows) -> Iterator[Finding]:
    for child, (last_done, back_on) in rows.first_and_last.items():
        dues = [each.due for each in rows.sessions.get(child, ())]
        away = time_away(last_done, back_on, dues, rows.thresholds, rows.today)
        if away and not _is_lighter_already(child, away.back_on, rows):
            yield _lighter_week(rows.who[child], away)


def _is_lighter_already(child: int, day: dt.date, rows: ReviewRows) -> bool:
    return any(
        each.child_id == child and not each.region and each.is_in_force(day)
        for each in rows.ways_back
    )


def _lighter_week(who: Who, away: TimeAway) -> Finding:
    ill = ", ill in between" if away.was_ill else ""
    return Finding(
        key=f"{Kind.WAY_BACK}-away-{away.since.isoformat()}",
        kind=Kind.WAY_BACK,
        who=who,
        subjects=(),
        headline=f"Back after {number(away.days)} days{ill}. A lighter first week?",
        evidence=(
            f"The last session done was {short_weekday_and_date(away.since)}, the next is "
            f"{short_weekday_and_date(away.back_on)}. A lighter week leaves six tenths of every "
            "amount and makes nothing harder.",
        ),
        actions=(
            Action(Do.LIGHTER, "A lighter first week", target=away.back_on.isoformat()),
            Action(Do.SEEN, "As written"),
        ),
        on=away.back_on,
    )
