"""What a child's effort ratings say: a day far harder than usual, hard days without an end, a
climb, or always the same.

A day counts once, with its hardest session. What stays hard goes before a climb, and either before
ratings that are all alike.
"""

import datetime as dt
from collections.abc import Iterator, Sequence
from functools import partial
from typing import Final

from django.utils.text import capfirst

from library.shared.dates import short_weekday_and_date
from library.shared.lanes import Tint
from program.common.lanes import Evidence, evidence_lane
from program.common.wording import effort_in_words, number
from program.engine.load import is_far_above, usual
from program.engine.ratings import (
    DAYS_COMPARED,
    DAYS_HIGH,
    HIGH,
    Climb,
    alike_at_the_end,
    climb_of,
    never_varies,
    stays_high,
)
from program.models.resolutions import Do, Kind
from program.review.finding import LOOK_AT_THE_LOGS, SHOWN, Action, Finding, Log
from program.review.queries import ReviewRows, SessionRow

EFFORT_COUNTS: Final = dt.timedelta(days=14)
"""How long a hard session still wants an answer; after it the child's next logs speak."""

LOOK_AGAIN: Final = Action(Do.SEEN, "Seen, look again in two weeks", days=14)
SIX_WEEKS: Final = 42
"""After which the ratings that were asked about are none of those that are looked at."""


def effort_findings(rows: ReviewRows) -> Iterator[Finding]:
    for rated in rows.rated.values():
        yield from _far_above_usual(rows, rated)
        if rated and _is_recent(rows, rated[-1]):
            yield from _course(rows, rated)


def _is_recent(rows: ReviewRows, session: SessionRow) -> bool:
    return rows.today - session.felt_on <= EFFORT_COUNTS


def _far_above_usual(rows: ReviewRows, rated: Sequence[SessionRow]) -> Iterator[Finding]:
    for place, session in enumerate(rated):
        earlier = rated[:place]
        if _is_recent(rows, session) and is_far_above(session.rating, _ratings(earlier)):
            yield _effort(rows, session, earlier)


def _course(rows: ReviewRows, rated: Sequence[SessionRow]) -> Iterator[Finding]:
    ratings = _ratings(rated)
    if stays_high(ratings):
        yield _stays_high(rows, rated)
    elif climb := climb_of(ratings):
        yield _climbs(rows, rated, climb)
    elif never_varies(ratings):
        yield _never_varies(rows, rated)


def _ratings(rated: Sequence[SessionRow]) -> list[int]:
    return [each.rating for each in rated]


def _effort(rows: ReviewRows, session: SessionRow, earlier: Sequence[SessionRow]) -> Finding:
    before = usual(_ratings(earlier))
    middle = f"{before.median:g}" if before else ""
    return Finding(
        key=f"{Kind.EFFORT}-{session.log}",
        kind=Kind.EFFORT,
        who=rows.who[session.child_id],
        subjects=(session.pk,),
        headline=f"{capfirst(effort_in_words(session.rating))}, usually {middle}",
        evidence=(
            f"{session.name}, {short_weekday_and_date(session.felt_on)}. "
            f"Usual is the middle of {len(earlier)} days before it.",
            *([f"“{session.note}”"] if session.note else []),
        ),
        actions=(Action(Do.SEEN, "Seen, no change"), LOOK_AT_THE_LOGS),
        on=session.felt_on,
        logs=_logs(rows, [*earlier, session]),
        drawn=partial(
            evidence_lane, "Effort", [*_drawn(earlier[1 - SHOWN :]), *_drawn([session], "look")]
        ),
        weight=session.rating,
    )


def _stays_high(rows: ReviewRows, rated: Sequence[SessionRow]) -> Finding:
    hard, ratings = rated[-DAYS_HIGH:], _ratings(rated)
    alike = [always(ratings[-1], alike_at_the_end(ratings))] if never_varies(ratings) else []
    return _about_the_course(
        rows,
        hard,
        f"{Kind.EFFORT}-high",
        headline=f"Effort {HIGH} or more, {number(DAYS_HIGH)} training days in a row",
        evidence=(
            f"No training day since {short_weekday_and_date(hard[0].felt_on)} was easier than very "
            "hard. What is written may be too much just now, or something else tires the child: "
            "the ratings do not say which.",
            *alike,
        ),
        cells=_drawn(hard, "look"),
        weight=max(_ratings(hard)),
    )


def _climbs(rows: ReviewRows, rated: Sequence[SessionRow], climb: Climb) -> Finding:
    first, last = rated[:DAYS_COMPARED], rated[-DAYS_COMPARED:]
    return _about_the_course(
        rows,
        rated,
        f"{Kind.EFFORT}-climbs",
        headline=f"Effort has climbed from {climb.before:.2g} to {climb.now:.2g}",
        evidence=(
            f"{climb.before:.2g} of 10 on average on {number(DAYS_COMPARED)} training days from "
            f"{short_weekday_and_date(first[0].felt_on)} on, {climb.now:.2g} on the last "
            f"{number(DAYS_COMPARED)}. Harder sessions may have been written, or the same cost "
            "more: the ratings do not say which.",
        ),
        cells=[*_drawn(first[-3:]), *_drawn(last[-3:], "look")],
        weight=round(climb.now),
    )


def _never_varies(rows: ReviewRows, rated: Sequence[SessionRow]) -> Finding:
    alike = rated[-alike_at_the_end(_ratings(rated)) :]
    rating = alike[-1].rating
    return _about_the_course(
        rows,
        alike,
        f"{Kind.RATINGS}-same",
        kind=Kind.RATINGS,
        headline=f"Always {effort_in_words(rating)}",
        evidence=(always(rating, len(alike)), EXPLAIN),
        cells=_drawn(alike[-SHOWN:]),
        actions=(
            Action(Do.SEEN, "Explained to the family", "explained", days=SIX_WEEKS),
            Action(Do.SEEN, "Seen, look again in six weeks", days=SIX_WEEKS),
        ),
    )


EXPLAIN: Final = (
    "The family may want the scale explained, with one easy and one hard session of their own."
)


def always(rating: int, days: int) -> str:
    """What ratings that never vary say, and do not."""
    return (
        f"Rated {rating} on each of the last {days} training days: that says nothing about "
        "readiness."
    )


def _about_the_course(
    rows: ReviewRows,
    rated: Sequence[SessionRow],
    key: str,
    *,
    headline: str,
    evidence: tuple[str, ...],
    cells: Sequence[Evidence],
    actions: tuple[Action, ...] = (LOOK_AGAIN,),
    kind: Kind = Kind.EFFORT,
    weight: int = 0,
) -> Finding:
    """It stays the same finding as days are added, so that its answer holds for as long as it
    says."""
    last = rated[-1]
    return Finding(
        key=key,
        kind=kind,
        who=rows.who[last.child_id],
        subjects=tuple(each.pk for each in rated),
        headline=headline,
        evidence=evidence,
        actions=(*actions, LOOK_AT_THE_LOGS),
        on=last.felt_on,
        logs=_logs(rows, rated),
        drawn=partial(evidence_lane, "Effort", cells),
        weight=weight,
    )


def _logs(rows: ReviewRows, rated: Sequence[SessionRow]) -> tuple[Log, ...]:
    return rows.logs(each.log for each in rated if each.log)


def _drawn(rated: Sequence[SessionRow], tint: Tint = "") -> list[Evidence]:
    return [
        Evidence(str(each.rating), short_weekday_and_date(each.felt_on), tint) for each in rated
    ]
