"""A region that is spared, and no longer or not for long."""

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Final

from athletes.models import Restriction
from library.shared.dates import short_weekday_and_date
from program.models.resolutions import Do, Kind
from program.review.children import Who
from program.review.finding import Action, Finding
from program.review.findings.way_back import BEGIN
from program.review.queries import ReviewRows

ENDS_SOON: Final = dt.timedelta(days=2)


def restriction_findings(rows: ReviewRows) -> Iterator[Finding]:
    for each in rows.restrictions:
        who = rows.who[each.child_id]
        if each.until < rows.today:
            yield _is_over(who, each)
        elif each.start <= rows.today and each.until - rows.today <= ENDS_SOON:
            yield _ends_soon(who, each, rows.today)


def early_restrictions(who: Who, rules: Iterable[Restriction], today: dt.date) -> Iterator[Finding]:
    """What is spared for a while yet: on the child's own page its way back may begin."""
    for rule in rules:
        if rule.region and rule.is_in_force(today) and rule.until - today > ENDS_SOON:
            yield _goes_on(who, rule)


def _goes_on(who: Who, rule: Restriction) -> Finding:
    return Finding(
        key=f"{Kind.RESTRICTION}-{rule.pk}-goes-on",
        kind=Kind.RESTRICTION,
        who=who,
        subjects=(rule.pk,),
        headline=f"{rule.rule} until {short_weekday_and_date(rule.until)}",
        evidence=(*_noted(rule), f"Set from {short_weekday_and_date(rule.start)}."),
        actions=(BEGIN,),
        on=rule.until,
    )


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
            *_begin(rule),
            Action(Do.EXTEND, "Two more weeks"),
            Action(Do.LIFT, "Fine again"),
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
            *_begin(rule),
            Action(Do.EXTEND, "Two more weeks"),
            Action(Do.SEEN, "Let it end"),
            Action(Do.LIFT, "Fine again now"),
        ),
        on=rule.until,
    )


def _begin(rule: Restriction) -> list[Action]:
    """A time of rest has no place to come back with."""
    return [BEGIN] if rule.region else []


def _noted(rule: Restriction) -> list[str]:
    return [f"“{rule.note}”"] if rule.note else []
