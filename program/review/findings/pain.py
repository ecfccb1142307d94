"""What hurts, one finding for each place, until a coach has answered it."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import Final

from django.utils import timezone

from library.body import LEG, Region, RestrictionKind, Side
from library.shared.dates import moment_in_words, short_weekday_and_date
from program.common.lanes import Evidence, evidence_lane
from program.engine.fit.library import FitExercise, FitLibrary
from program.engine.fit.limits import LANDING_PATH, Restriction
from program.engine.fit.reasons import within
from program.models import PainReport
from program.models.resolutions import Do, Kind
from program.review.children import Who
from program.review.finding import SHOWN, Action, Finding
from program.review.logged_sessions import Pain

LANDS_ON: Final = LANDING_PATH - {Region.HEAD_NECK, Region.UPPER_BACK}
_SPARE: Final = {
    RestrictionKind.NO_LANDING: (Do.NO_LANDING, "No landings for two weeks"),
    RestrictionKind.NO_LOADING: (Do.NO_LOADING, "No loading for two weeks"),
    RestrictionKind.NOTHING: (Do.NOTHING, "Nothing at all there for two weeks"),
}
_REST: Final = Action(Do.REST, "No sessions for two weeks")


def pain_findings(
    who: Mapping[int, Who], reports: Iterable[PainReport], library: FitLibrary
) -> list[Finding]:
    """One finding for all that nobody has answered yet about one place of one child."""
    unanswered: dict[tuple[int, str, str, str], list[PainReport]] = defaultdict(list)
    for each in reports:
        if each.is_unanswered:
            unanswered[each.child_id, each.region, each.symptom, each.side].append(each)
    return [_pain(who[child_id], those, library) for (child_id, *_), those in unanswered.items()]


def _pain(who: Who, reports: Sequence[PainReport], library: FitLibrary) -> Finding:
    ordered = sorted(reports, key=lambda each: (each.reported_at, each.pk), reverse=True)
    newest, worst = ordered[0], max(ordered, key=lambda each: each.level or 0)
    waved = any(each.wants_reason for each in ordered)
    return Finding(
        key=f"{Kind.PAIN}-{newest.pk}",
        kind=Kind.PAIN,
        who=who,
        subjects=tuple(each.pk for each in ordered),
        headline=Pain(worst).finding,
        evidence=tuple(_evidence(newest, ordered)),
        actions=(
            *actions_for(ordered, library),
            Action(Do.SEEN, _seen(ordered), wants_reason=waved),
            Action(Do.WRONG_CHILD, "It is not about this child", wants_reason=True),
        ),
        on=newest.reported_on,
        drawn=partial(evidence_lane, "Reports", _reports(ordered)) if len(ordered) > 1 else None,
        weight=max(_weight(each) for each in ordered),
    )


def _seen(reports: Iterable[PainReport]) -> str:
    warns = any(each.pain.is_warning for each in reports)
    return "May go on as before" if warns else "Seen, no change"


def actions_for(reports: Sequence[PainReport], library: FitLibrary) -> list[Action]:
    """What can be done, the most careful first. Whatever is chosen, the exercises during which it
    hurt are left out: by the rule where it rules them out, by name otherwise."""
    region = reports[0].region
    if not region:
        return [_REST]
    hurt_on = _exercises(reports, library)
    offered = [_spare(Region(region), kind, hurt_on) for kind in _kinds(Region(region), reports)]
    return offered + ([_REST] if any(each.pain.is_warning for each in reports) else [])


def _kinds(region: Region, reports: Sequence[PainReport]) -> Iterator[RestrictionKind]:
    if region in LEG and any(len(each.pain.spares) > 1 for each in reports):
        yield RestrictionKind.NOTHING
        return
    yield RestrictionKind.NO_LOADING
    if region in LANDS_ON:
        yield RestrictionKind.NO_LANDING
    yield RestrictionKind.NOTHING


def _exercises(reports: Iterable[PainReport], library: FitLibrary) -> list[FitExercise]:
    slugs = dict.fromkeys(each.pain.exercise for each in reports)
    return [library.by_slug[slug] for slug in slugs if slug in library.by_slug]


def _spare(region: Region, kind: RestrictionKind, hurt_on: Sequence[FitExercise]) -> Action:
    do, label = _SPARE[kind]
    rule = Restriction(region, kind, Side.BOTH)
    by_name = [each for each in hurt_on if not rule.rules_out(each)]
    if by_name:
        label += f", and without {', '.join(within(each.name) for each in by_name)}"
    return Action(do, label, target=",".join(each.slug for each in by_name))


def _weight(report: PainReport) -> int:
    """A warning before any number."""
    return (report.level or 0) + (100 if report.pain.is_warning else 0)


def _reports(newest_first: Sequence[PainReport]) -> list[Evidence]:
    return [
        Evidence(
            f"{each.level} of 10" if each.level else each.where,
            short_weekday_and_date(each.reported_on),
            "stop",
        )
        for each in reversed(newest_first[:SHOWN])
    ]


def _evidence(newest: PainReport, reports: Iterable[PainReport]) -> Iterator[str]:
    yield _told(newest)
    signs = dict.fromkeys(sign for each in reports for sign in each.signs_in_words)
    if signs:
        yield f"With it: {', '.join(signs)}."
    if newest.what_it_does:
        yield newest.what_it_does_for_coach
    if newest.first_to_do:
        yield f"The family reads: “{newest.first_to_do}”"


def _told(report: PainReport) -> str:
    at = moment_in_words(timezone.localtime(report.reported_at))
    by = report.reported_by or "somebody who has left"
    session = f", in {report.assigned_session}" if report.assigned_session else ""
    note = f"“{report.note}” " if report.note else ""
    much = f"{report.level} of 10, told" if report.level else "Told"
    return f"{note}{much} by {by}, {at}{session}. {Pain(report).how_often}"
