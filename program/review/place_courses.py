"""What became of each place that hurt or was spared, over the weeks: what was reported, what was
spared, the steps of the way back, and what was done since. Asks no database."""

import datetime as dt
import itertools
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from django.utils.text import capfirst

from athletes.models import Restriction
from library.body import Region, Side, place_in_words
from library.shared.dates import short_weekday_and_date
from library.shared.lanes import Cell, Lane
from program.engine.weeks import A_WEEK, monday_of
from program.models import PainReport, WayBackStep
from program.models.resolutions import Kind
from program.review.finding import TAGS
from program.review.logged_sessions import Pain

FEWEST_WEEKS, MOST_WEEKS = 4, 10
"""How many are drawn: from the first in which something was told, as many as a phone has room for.
"""
LISTED: Final = 12
"""How much of one place is listed, the newest first."""


@dataclass(frozen=True)
class Moment:
    """One thing that happened to a place: `kind` says of what sort it is, `aside` what more was
    said of it."""

    on: dt.date
    kind: Kind
    told: str
    aside: str = ""

    @property
    def tag(self) -> str:
        return TAGS[self.kind][0]

    @property
    def word(self) -> str:
        return TAGS[self.kind][1]


@dataclass(frozen=True)
class DoneSession:
    """A session that was done, and whether anything hurt in it."""

    on: dt.date
    hurt: bool


@dataclass(frozen=True)
class PlaceCourse:
    """One place, "left knee", or a symptom. Newest first."""

    where: str
    reports: Sequence[PainReport]
    rules: Sequence[Restriction]
    steps: Sequence[WayBackStep]
    done: Sequence[DoneSession]
    today: dt.date

    @property
    def title(self) -> str:
        return capfirst(self.where)

    @property
    def moments(self) -> list[Moment]:
        return self._all[:LISTED]

    @property
    def more(self) -> int:
        return max(0, len(self._all) - LISTED)

    @property
    def _all(self) -> list[Moment]:
        told = (
            *map(_on_its_way, self.steps),
            *map(_spared, self.rules),
            *map(_reported, self.reports),
        )
        # Of one day, what follows from a report stands above it.
        return sorted(told, key=lambda each: each.on, reverse=True)

    @property
    def newest(self) -> dt.date:
        return self._all[0].on

    @property
    def since(self) -> str:
        """ "Since the last report 4 sessions were done, and nothing hurt in them."; "" where it was
        never reported."""
        if not self.reports:
            return ""
        last = max(each.reported_on for each in self.reports)
        sessions = [each for each in self.done if each.on > last]
        if not sessions:
            return "Since the last report no session was done."
        one = len(sessions) == 1
        were, them = ("session was", "it") if one else ("sessions were", "them")
        sore = sum(each.hurt for each in sessions)
        how_many = f"{sore} of them" if not one else "it"
        ending = f"something hurt in {how_many}" if sore else f"nothing hurt in {them}"
        return f"Since the last report {len(sessions)} {were} done, and {ending}."

    @property
    def lane(self) -> Lane:
        """The last weeks, oldest first."""
        this_week = monday_of(self.today)
        told = (this_week - monday_of(self._all[-1].on)) // A_WEEK + 1
        weeks = min(max(told, FEWEST_WEEKS), MOST_WEEKS)
        mondays = (this_week - n * A_WEEK for n in reversed(range(weeks)))
        return Lane(self.title, tuple(self._week(monday) for monday in mondays), centred=True)

    def _week(self, monday: dt.date) -> Cell:
        days = monday, monday + A_WEEK - dt.timedelta(days=1)
        reports = [each for each in self.reports if days[0] <= each.reported_on <= days[1]]
        worst = max((each.level or 0 for each in reports), default=0)
        spared = itertools.chain(map(_span, self.rules), map(_span, self.steps))
        is_spared = any(_touches(days, each) for each in spared)
        name = f"{monday.day} {monday:%b}"
        said = [f"week of {name}", f"{worst} of 10" if worst else "", "spared" if is_spared else ""]
        return Cell(
            label=name,
            head=str(worst or ""),
            marks=("hurt",) if reports else (),
            tint="look" if is_spared else "",
            spoken=", ".join(filter(None, said)),
        )


def place_courses(
    reports: Iterable[PainReport],
    rules: Iterable[Restriction],
    steps: Iterable[WayBackStep],
    done: Sequence[DoneSession],
    today: dt.date,
) -> list[PlaceCourse]:
    """One for each place, the one of which something was said last first. The reports come
    `for_review`."""
    by_place: dict[str, tuple[list[PainReport], list[Restriction], list[WayBackStep]]]
    by_place = defaultdict(lambda: ([], [], []))
    for report in reports:
        by_place[report.where][0].append(report)
    reported = frozenset(by_place)
    for rule in rules:
        for where in _where(rule, reported):
            by_place[where][1].append(rule)
    for step in steps:
        for where in _where(step, reported):
            by_place[where][2].append(step)
    courses = [PlaceCourse(where, *told, done, today) for where, told in by_place.items()]
    return sorted(courses, key=lambda each: (-each.newest.toordinal(), each.where))


def _where(told: Restriction | WayBackStep, reported: frozenset[str]) -> tuple[str, ...]:
    """Where something stands: what is said of both sides with each of them, once both hurt."""
    if not told.region or told.side != Side.BOTH:
        return (told.where,)
    region = Region(told.region)
    sides = tuple(place_in_words(region, side) for side in (Side.LEFT, Side.RIGHT))
    return sides if reported.issuperset(sides) else (told.where,)


def _touches(days: tuple[dt.date, dt.date], span: tuple[dt.date, dt.date | None]) -> bool:
    first, last = span
    return first <= days[1] and (last is None or last >= days[0])


def _span(each: Restriction | WayBackStep) -> tuple[dt.date, dt.date | None]:
    """Its first day and its last, None while it goes on."""
    a_day = dt.timedelta(days=1)
    if isinstance(each, Restriction):
        lifted = each.lifted_on - a_day if each.lifted_on else each.until
        return each.start, min(each.until, lifted)
    return each.since, each.ended_on - a_day if each.ended_on else each.until


def _reported(report: PainReport) -> Moment:
    pain = Pain(report)
    note = f"“{report.note}” " if report.note else ""
    aside = f"{note}{pain.how_often} {capfirst(report.became)}."
    return Moment(report.reported_on, Kind.PAIN, pain.finding, aside)


def _spared(rule: Restriction) -> Moment:
    lifted = ""
    if rule.lifted_on:
        by = f", says {rule.lifted_by}" if rule.lifted_by else ""
        lifted = f"; fine again {short_weekday_and_date(rule.lifted_on)}{by}"
    told = f"{rule.rule} until {short_weekday_and_date(rule.until)}{lifted}"
    return Moment(rule.start, Kind.RESTRICTION, told, rule.note)


def _on_its_way(step: WayBackStep) -> Moment:
    until = step.ended_on or step.until
    ending = f" until {short_weekday_and_date(until)}" if until else ", and still so"
    by = f"Says {step.set_by}." if step.set_by else ""
    return Moment(step.since, Kind.WAY_BACK, f"{step}{ending}", by)
