"""Findings about how a child grows, where the family agrees that it is measured."""

import datetime as dt
from collections.abc import Iterator
from functools import partial
from typing import Final

from athletes.growth import TapeError, Velocity, velocity
from athletes.measurements import DUE_AFTER
from athletes.models import ConsentPurpose
from library.shared.dates import date_in_words
from program.common.lanes import Evidence, evidence_lane
from program.models.resolutions import Do, Kind
from program.review.children import Who
from program.review.finding import Action, Finding
from program.review.queries import ReviewRows

IS_NEWS: Final = dt.timedelta(days=180)
"""How long a height says how fast a child grows now."""

NOT_NOW: Final = 28
"""Days that "not now" keeps a measurement away."""


def growth_findings(rows: ReviewRows) -> Iterator[Finding]:
    for who in rows.who.values():
        if not who.answers.agree_to(ConsentPurpose.MEASUREMENTS):
            continue
        last = who.heights[-1].on if who.heights else None
        found = velocity(who.heights, rows.tape)
        is_gentle = who.child.grows_fast_on(rows.today)
        if last and rows.today - last <= IS_NEWS and found and found.is_a_spurt and not is_gentle:
            yield _spurt(who, found, last, rows.tape)
        if last is None or rows.today - last >= DUE_AFTER:
            yield _due(who, last, rows.today)


def _spurt(who: Who, found: Velocity, last: dt.date, tape: TapeError) -> Finding:
    cells = [
        Evidence(f"{each.height:.1f} cm", f"{each.on.day} {each.on:%b %Y}")
        for each in found.rests_on
    ]
    return Finding(
        key=f"{Kind.GROWTH}-{last.isoformat()}",
        kind=Kind.GROWTH,
        who=who,
        subjects=(),
        headline=f"Growing {found.cm_a_year:.1f} cm a year, give or take {found.plus_minus:.1f}",
        evidence=(
            "Faster than before a spurt, whatever the tape’s error. Going gently halves landings "
            "and makes nothing harder.",
            tape.in_words,
        ),
        actions=(
            Action(Do.GENTLY, "Go gently for twelve weeks"),
            Action(Do.SEEN, "Seen, no change"),
            Action(Do.LOOK, "Look at the heights"),
        ),
        on=last,
        drawn=partial(evidence_lane, "Heights", cells),
    )


def _due(who: Who, last: dt.date | None, today: dt.date) -> Finding:
    said = (
        f"Last measured on {date_in_words(last)}." if last else "Agreed to, and not measured yet."
    )
    return Finding(
        key=f"{Kind.MEASURE}-{last.isoformat() if last else 'first'}",
        kind=Kind.MEASURE,
        who=who,
        subjects=(),
        headline="Time for a height",
        alike="Time for a height",  # a reminder, which says nothing of a child's health
        evidence=(said,),
        actions=(
            Action(Do.LOOK, "Measure"),
            Action(Do.SEEN, "Not now", days=NOT_NOW, for_all="Not now"),
        ),
        on=last or today,
    )
