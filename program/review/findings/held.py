"""A published session that waits for a coach’s choice for one child."""

import datetime as dt
from collections.abc import Iterator
from typing import Final

from program.models.resolutions import Do, Kind
from program.review.children import Who
from program.review.finding import Action, Finding
from program.review.queries import HeldRow, ReviewRows

NO_SESSION: Final = "No session that day"


def decision_findings(rows: ReviewRows) -> Iterator[Finding]:
    for held in rows.held:
        if held.child_id in rows.held_back:
            continue
        yield _decision(rows.who[held.child_id], held, rows.today)


def _decision(who: Who, held: HeldRow, today: dt.date) -> Finding:
    when = f"on {held.on:%A} {held.on.day} {held.on:%B}{' (today)' if held.on == today else ''}"
    headline = f"{held.name} {when} was not sent"
    return Finding(
        key=f"{Kind.DECIDE}-{held.session}",
        kind=Kind.DECIDE,
        who=who,
        subjects=(held.session,),
        headline=headline,
        alike=headline,
        evidence=(
            "For something in it there is nothing that suits. The family gets it once you choose, "
            "or leave that out.",
        ),
        actions=(
            Action(Do.LOOK, "Choose"),
            Action(Do.SEEN, NO_SESSION, for_all=NO_SESSION),
        ),
        on=held.on,
    )
