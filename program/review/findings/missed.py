"""A child of whom nothing has been logged for some sessions."""

import datetime as dt
from collections.abc import Iterator, Sequence
from functools import partial
from typing import Final

from library.shared.dates import short_weekday_and_date
from library.shared.lanes import Cell, Lane
from program.common.lanes import mark_of
from program.common.wording import number
from program.engine.attendance import is_silent, silent_run
from program.models.resolutions import Do, Kind
from program.review.children import Who
from program.review.finding import LOOK_AT_THE_LOGS, Action, Finding
from program.review.queries import ReviewRows, SessionRow

SEEN: Final = "Seen, look again in a week"


def missed_findings(rows: ReviewRows) -> Iterator[Finding]:
    for child_id, sessions in rows.sessions.items():
        run = silent_run([each.due for each in sessions], rows.today)
        if run:
            yield _quiet(rows.who[child_id], sessions, run[0].key, rows.today)


def _quiet(who: Who, sessions: Sequence[SessionRow], since: int, today: dt.date) -> Finding:
    past = [each for each in sessions if each.on < today]
    first = next(place for place, each in enumerate(past) if each.pk == since)
    run = past[first:]
    done = past[first - 1] if first else None
    silent = [each.due.told for each in run if is_silent(each.due)]
    how = "missed without a word" if any(silent) else "nobody has spoken of"
    days = (today - (done.on if done else run[0].on)).days
    return Finding(
        key=f"{Kind.MISSED}-{since}",
        kind=Kind.MISSED,
        who=who,
        subjects=(since,),
        headline=f"Nothing logged for {number(days)} days",
        alike="Nothing logged of late",
        evidence=(
            f"{number(len(silent)).capitalize()} sessions in a row {how}. "
            + (
                f"The last one done was {done.name}, {short_weekday_and_date(done.on)}."
                if done
                else ""
            ),
        ),
        actions=(Action(Do.SEEN, SEEN, days=7, for_all=SEEN), LOOK_AT_THE_LOGS),
        on=run[0].on,
        drawn=partial(
            Lane, "Sessions", tuple(_mark(each, today) for each in past[-7:]), centred=True
        ),
        weight=len(silent),
    )


def _mark(session: SessionRow, today: dt.date) -> Cell:
    return Cell(
        label=f"{session.on:%a}"[0],
        marks=(mark_of(session.state, session.on, today),),
        spoken=f"{session.name}, {short_weekday_and_date(session.on)}",
    )
