"""A region that is spared, and no longer or not for long."""

import datetime as dt
from collections.abc import Iterator
from typing import Final

from athletes.models import Restriction
from library.shared.dates import short_weekday_and_date
from program.models.resolutions import Do, Kind
from program.review.children import Who
from program.review.finding import Action, Finding
from program.review.queries import ReviewRows

ENDS_SOON: Final = dt.timedelta(days=2)


def restriction_findings(rows: ReviewRows) -> Iterator[Finding]:
    for each in rows.restrictions:
        who = rows.who[each.child_id]
        if each.until < rows.today:
            yield _is_over(who, each)
        elif each.start <= rows.today and each.until - rows.today <= ENDS_SOON:
            yield _ends_soon(who, each, rows.today)


def _is_over(who: Who, rule: Restriction) -> Finding:
    return Finding(
        key=f"{Kind.RESTRICTION}-{rule.pk}-over",
        kind=Kind.RESTRICTION,
        who=who,
        subjects=(rule.pk,),
        headline=f"{rule.rule} is over. Is it fine again?",
        evidence=(
            *_noted(rule),
            f"It held until {short_weekday_and_date(rule.until)}; nobody has said.",
        ),
        actions=(
            Action(Do.LIFT, "Fine again"),
            Action(Do.EXTEND, "Two more weeks"),
        ),
        on=rule.until,
        weight=1,
    )


def _ends_soon(who: Who, rule: Restriction, today: dt.date) -> Finding:
    when = "today" if rule.until == today else f"on {rule.until:%A}"
    return Finding(
        key=f"{Kind.RESTRICTION}-{rule.pk}-ends-{rule.until.isoformat()}",
        kind=Kind.RESTRICTION,
        who=who,
        subjects=(rule.pk,),
        headline=f"{rule.rule} ends {when}",
        evidence=(*_noted(rule), f"Set from {short_weekday_and_date(rule.start)}."),
        actions=(
            Action(Do.EXTEND, "Two more weeks"),
            Action(Do.SEEN, "Let it end"),
            Action(Do.LIFT, "Fine again now"),
        ),
        on=rule.until,
    )


def _noted(rule: Restriction) -> list[str]:
    return [f"“{rule.note}”"] if rule.note else []
