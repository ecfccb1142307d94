"""A session that was far harder for a child than its sessions usually are."""

import datetime as dt
from collections.abc import Iterator, Sequence
from functools import partial
from typing import Final

from django.utils.text import capfirst

from library.shared.dates import short_weekday_and_date
from program.common.lanes import Evidence, evidence_lane
from program.common.wording import effort_in_words
from program.engine.load import is_far_above, usual
from program.models.resolutions import Do, Kind
from program.review.finding import LOOK_AT_THE_LOGS, SHOWN, Action, Finding
from program.review.queries import ReviewRows, SessionRow

EFFORT_COUNTS: Final = dt.timedelta(days=14)
"""How long a hard session still wants an answer; after it the child's next logs speak."""


def effort_findings(rows: ReviewRows) -> Iterator[Finding]:
    for sessions in rows.sessions.values():
        rated = [each for each in sessions if each.is_done and each.effort is not None]
        for place, session in enumerate(rated):
            earlier = rated[:place]
            is_recent = rows.today - session.on <= EFFORT_COUNTS
            if is_recent and is_far_above(_rating(session), [_rating(each) for each in earlier]):
                yield _effort(rows, session, earlier)


def _rating(session: SessionRow) -> int:
    return session.effort or 0


def _effort(rows: ReviewRows, session: SessionRow, earlier: Sequence[SessionRow]) -> Finding:
    before = usual([_rating(each) for each in earlier])
    middle = f"{before.median:g}" if before else ""
    cells = [
        Evidence(str(each.effort), short_weekday_and_date(each.on)) for each in earlier[1 - SHOWN :]
    ]
    cells.append(Evidence(str(session.effort), short_weekday_and_date(session.on), "look"))
    return Finding(
        key=f"{Kind.EFFORT}-{session.log}",
        kind=Kind.EFFORT,
        who=rows.who[session.child_id],
        subjects=(session.pk,),
        headline=f"{capfirst(effort_in_words(_rating(session)))}, usually {middle}",
        evidence=(
            f"{session.name}, {short_weekday_and_date(session.on)}. "
            f"Usual is the middle of {len(earlier)} sessions before it.",
            *([f"“{session.note}”"] if session.note else []),
        ),
        actions=(Action(Do.SEEN, "Seen, no change"), LOOK_AT_THE_LOGS),
        on=session.on,
        logs=rows.logs(each.log for each in (*earlier, session) if each.log),
        drawn=partial(evidence_lane, "Effort", cells),
        weight=_rating(session),
    )
