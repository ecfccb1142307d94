"""What hurts, one finding for each place, until a coach has answered it."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import Final

from django.utils import timezone
from django.utils.text import capfirst

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
    """One finding for all that nobody has answered yet about one place of one child, on whichever
    side: who is sore on both is asked about once."""
    unanswered: dict[tuple[int, str, str], list[PainReport]] = defaultdict(list)
    for each in reports:
        if each.is_unanswered:
            unanswered[each.child_id, each.region, each.symptom].append(each)
    return [_pain(who[child_id], those, library) for (child_id, *_), those in unanswered.items()]


def _pain(who: Who, reports: Sequence[PainReport], library: FitLibrary) -> Finding:
    """Its key names the newest report of each side: what was answered, put off or handed on of one
    side is no answer about both."""
    ordered = sorted(reports, key=lambda each: (each.reported_at, each.pk), reverse=True)
    sides = _by_side(ordered)
    waved = any(each.wants_reason for each in ordered)
    return Finding(
        key=f"{Kind.PAIN}-{'-'.join(str(those[0].pk) for those in sides)}",
        kind=Kind.PAIN,
        who=who,
        subjects=tuple(each.pk for each in ordered),
        headline=_headline(ordered),
        evidence=tuple(_evidence(sides)),
        actions=(
            *actions_for(ordered, library),
            Action(Do.SEEN, _seen(ordered), wants_reason=waved),
            *_not_about_this_child(sides),
        ),
        on=ordered[0].reported_on,
        drawn=partial(evidence_lane, "Reports", _reports(ordered)) if len(ordered) > 1 else None,
        weight=max(_weight(each) for each in ordered),
    )


def _by_side(newest_first: Iterable[PainReport]) -> list[list[PainReport]]:
    """What was said of each side, the side that was reported last first."""
    found: dict[str, list[PainReport]] = {}
    for each in newest_first:
        found.setdefault(each.side, []).append(each)
    return list(found.values())


def is_of_two_sides(reports: Iterable[PainReport]) -> bool:
    return len({each.side for each in reports}) > 1


def _headline(reports: Sequence[PainReport]) -> str:
    worst = max(reports, key=lambda each: each.level or 0)
    if not is_of_two_sides(reports):
        return Pain(worst).finding
    level = f", up to {worst.level} of 10" if worst.level else ""
    return f"{capfirst(_of_two_sides(reports))}{level}{Pain(worst).on}"


def _of_two_sides(reports: Sequence[PainReport]) -> str:
    region = reports[0].get_region_display()
    if any(each.side == Side.BOTH for each in reports):
        return f"{region}, both sides"
    return f"left and right {region}"


def _not_about_this_child(sides: Sequence[Sequence[PainReport]]) -> Iterator[Action]:
    """Said of each side by itself: what is true of the other stays spared."""
    if len(sides) == 1:
        yield Action(Do.WRONG_CHILD, "It is not about this child", wants_reason=True)
        return
    for those in sides:
        label = f"{capfirst(those[0].where)}: it is not about this child"
        about = ",".join(str(each.pk) for each in those)
        yield Action(Do.WRONG_CHILD, label, target=about, wants_reason=True)


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
    where = ", on both sides" if is_of_two_sides(reports) else ""
    kinds = _kinds(Region(region), reports)
    offered = [_spare(Region(region), kind, hurt_on, where) for kind in kinds]
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


def _spare(
    region: Region, kind: RestrictionKind, hurt_on: Sequence[FitExercise], where: str
) -> Action:
    do, label = _SPARE[kind]
    label += where
    rule = Restriction(region, kind, Side.BOTH)
    by_name = [each for each in hurt_on if not rule.rules_out(each)]
    if by_name:
        label += f", and without {', '.join(within(each.name) for each in by_name)}"
    return Action(do, label, target=",".join(each.slug for each in by_name))


def _weight(report: PainReport) -> int:
    """A warning before any number."""
    return (report.level or 0) + (100 if report.pain.is_warning else 0)


def _reports(newest_first: Sequence[PainReport]) -> list[Evidence]:
    named = is_of_two_sides(newest_first)
    return [
        Evidence(_how_much(each, named=named), short_weekday_and_date(each.reported_on), "stop")
        for each in reversed(newest_first[:SHOWN])
    ]


def _how_much(report: PainReport, *, named: bool) -> str:
    much = f"{report.level} of 10" if report.level else ""
    side = Side(report.side).label if named else ""
    return ", ".join(filter(None, (side, much))) or report.where


def _evidence(sides: Sequence[Sequence[PainReport]]) -> Iterator[str]:
    """Of each side by itself, where there are two."""
    for those in sides:
        newest = those[0]
        where = f"{capfirst(newest.where)}: " if len(sides) > 1 else ""
        yield f"{where}{_told(newest)}"
        if signs := dict.fromkeys(sign for each in those for sign in each.signs_in_words):
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
