"""What hurts, one finding for each place, until a coach has seen it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import partial
from typing import Final

from django.utils import timezone

from library.body import Region
from library.shared.dates import moment_in_words, short_weekday_and_date
from program.common.lanes import Evidence, evidence_lane
from program.models import PainReport
from program.models.resolutions import Do, Kind
from program.review.children import Who
from program.review.finding import SHOWN, Action, Finding
from program.review.logged_sessions import Pain

LANDS_ON: Final = frozenset(
    {
        Region.LOWER_BACK,
        Region.HIP_GROIN,
        Region.THIGH,
        Region.KNEE,
        Region.LOWER_LEG,
        Region.ANKLE,
        Region.FOOT,
    }
)


_SPARE: Final = (
    Action(Do.NO_LANDING, "No landings for two weeks"),
    Action(Do.NO_LOADING, "No loading for two weeks"),
)


def pain_findings(who: Mapping[int, Who], reports: Iterable[PainReport]) -> list[Finding]:
    """One finding for all that nobody has seen yet about one place of one child."""
    unseen: dict[tuple[int, str, str], list[PainReport]] = defaultdict(list)
    for report in reports:
        if report.seen_at is None:
            unseen[report.child_id, report.region, report.side].append(report)
    return [_pain(who[child_id], those) for (child_id, *_), those in unseen.items()]


def _pain(who: Who, reports: Sequence[PainReport]) -> Finding:
    ordered = sorted(reports, key=lambda each: (each.reported_at, each.pk), reverse=True)
    newest, worst = ordered[0], max(ordered, key=lambda each: each.level)
    spare = _SPARE if newest.region in LANDS_ON else _SPARE[1:]
    return Finding(
        key=f"{Kind.PAIN}-{newest.pk}",
        kind=Kind.PAIN,
        who=who,
        subjects=tuple(each.pk for each in ordered),
        headline=Pain(worst).finding,
        evidence=(_told(newest),),
        actions=(*spare, Action(Do.SEEN, "Seen, no change")),
        on=newest.reported_on,
        drawn=partial(evidence_lane, "Reports", _reports(ordered)) if len(ordered) > 1 else None,
        weight=worst.level,
    )


def _reports(newest_first: Sequence[PainReport]) -> list[Evidence]:
    return [
        Evidence(
            f"{each.level} of 10",
            short_weekday_and_date(each.reported_on),
            "stop",
        )
        for each in reversed(newest_first[:SHOWN])
    ]


def _told(report: PainReport) -> str:
    at = moment_in_words(timezone.localtime(report.reported_at))
    by = report.reported_by or "somebody who has left"
    session = f", in {report.assigned_session}" if report.assigned_session else ""
    note = f"“{report.note}” " if report.note else ""
    return f"{note}{report.level} of 10, told by {by}, {at}{session}. {Pain(report).how_often}"
