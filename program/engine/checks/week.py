"""The checks of a cohort's week: its days, its work, and the weeks before it."""

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Final, NamedTuple

from program.engine.checks.people import (
    CheckedChild,
    DayOfWork,
    Elsewhere,
    Landings,
    Meant,
    WorkByDay,
    contacts_of,
)
from program.engine.checks.rules import (
    BRENNER_2024,
    COMMON_PRACTICE,
    FAIGENBAUM_2009,
    HANDBOOKS,
    HOUSE_RULE,
    JAYANTHI_2015,
    JOHNSON_2011,
    USUAL,
    CheckResult,
    Checks,
    Level,
    Limit,
    Settings,
    Told,
)
from program.engine.checks.session import STRENGTH
from program.engine.sport import days_off, together
from program.engine.volume import HIP_DOMINANT, KNEE_DOMINANT, PULL, PUSH, Volume, Work
from program.engine.weeks import A_DAY, A_WEEK, days_of_week, week_end
from program.engine.wording import pattern_in_words, plural

WEEKS_BEFORE: Final = 4
"""How many weeks before it a week is held against."""

KINDS_OF_WORK: Final[Mapping[str, frozenset[str]]] = {
    "pushing": PUSH,
    "pulling": PULL,
    "knee-dominant leg work": KNEE_DOMINANT,
    "hip-dominant leg work": HIP_DOMINANT,
    "bracing": frozenset({"front_brace", "side_brace"}),
}
"""What should not be missing for two weeks."""

GENTLE: Final = frozenset({"mobility"})
"""Patterns whose volume may jump."""

MOST_TO_BEGIN_WITH: Final = 9
"""Sets of a pattern in a first week: three on three days, which Faigenbaum et al. 2009 have of one
exercise at most (from memory). That a whole pattern begins with no more is a house rule."""

MOST_CONTACTS_TO_BEGIN_WITH: Final = 120
"""Ground contacts in a first week: twice sixty, see `landing_start`."""

LEAST_FOR_A_MEAN: Final = 3
"""Weeks that a mean wants. A house rule."""

AMOUNTS: Final[Mapping[str, Callable[[Work], float]]] = {
    "sets": lambda work: work.sets,
    "repetitions": lambda work: work.repetitions,
    "seconds of holds and bouts": lambda work: work.hold_seconds,
    "metres": lambda work: work.metres,
    "ground contacts": lambda work: round(work.ground_contacts),
}


@dataclass(frozen=True)
class CheckedWeek:
    """Seven days from `starts`, the cohort's work in them and in the weeks before, and the children
    it is for, with what they do in other groups and, where it is not as the cohort's, with all they
    do. Other days are not looked at."""

    starts: dt.date
    work: WorkByDay
    children: tuple[CheckedChild, ...] = ()

    def of(self, back: int) -> list[DayOfWork]:
        """The work of this week, 0, or of so many weeks before it."""
        return self.work.in_week(self.starts - back * A_WEEK)

    @property
    def eve(self) -> dt.date:
        """The last day before the week."""
        return self.starts - A_DAY

    @cached_property
    def elsewhere(self) -> list[tuple[CheckedChild, tuple[Elsewhere, ...]]]:
        """The children who have sessions in other groups this week or on its eve, with these."""
        found = ((child, child.within(self.eve, self.ends)) for child in self.children)
        return [(child, sessions) for child, sessions in found if sessions]

    @cached_property
    def elsewhere_this_week(self) -> list[tuple[CheckedChild, tuple[Elsewhere, ...]]]:
        found = (
            (child, tuple(each for each in sessions if each.on >= self.starts))
            for child, sessions in self.elsewhere
        )
        return [(child, sessions) for child, sessions in found if sessions]

    @property
    def ends(self) -> dt.date:
        return week_end(self.starts)

    @cached_property
    def volumes(self) -> tuple[Volume, Volume, Volume]:
        """Of this week, of the last, of the one before."""
        now, last, before = (self.work.volume(self.starts - back * A_WEEK) for back in range(3))
        return now, last, before

    @cached_property
    def own_work(self) -> list[tuple[WorkByDay, list[CheckedChild]]]:
        """What is done by children who do not do just what the cohort does, each with those who do
        it."""
        found: dict[int, tuple[WorkByDay, list[CheckedChild]]] = {}
        for child in self.children:
            if child.work is not None:
                found.setdefault(id(child.work), (child.work, []))[1].append(child)
        return list(found.values())

    def landings_of(self, child: CheckedChild) -> Landings:
        if child.landings is not None:
            return child.landings
        return self._landings if child.work is None else child.work.landings

    @cached_property
    def _landings(self) -> Landings:
        return self.work.landings

    @cached_property
    def landings(self) -> list[tuple[CheckedChild | None, Landings]]:
        """Each child's, and the cohort's where there is no child."""
        if not self.children:
            return [(None, self._landings)]
        return [(child, self.landings_of(child)) for child in self.children]

    def meant(self, children: Iterable[CheckedChild | None]) -> Meant:
        """Some of the children with their other groups of this week; nobody by itself where it is
        all of them and no other group has to do with it."""
        found = [(each, each.within(self.starts, self.ends)) for each in children if each]
        meant = Meant.of(found)
        return Meant((), ()) if len(found) == len(self.children) and not meant.groups else meant

    @cached_property
    def days(self) -> list[dt.date]:
        return sorted({day.on for day in self.of(0)})

    @cached_property
    def strength_days(self) -> list[dt.date]:
        strong = (day for day in self.of(0) if not STRENGTH.isdisjoint(day.volume.patterns))
        return sorted({day.on for day in strong})

    @property
    def days_with_the_one_before(self) -> list[dt.date]:
        """The strength days, begun with the last day before the week if that was one."""
        before = (day for day in self.of(1) if not STRENGTH.isdisjoint(day.volume.patterns))
        eve = [self.eve] if any(day.on == self.eve for day in before) else []
        return [*eve, *self.strength_days]


CHECKS: Final = Checks[CheckedWeek]()


def check_week(week: CheckedWeek, settings: Settings = USUAL) -> tuple[CheckResult, ...]:
    """What the week asks a look for, the most urgent first; nothing for an empty week."""
    return CHECKS.results(week, settings) if week.days else ()


@CHECKS.add(
    code="rest_days",
    title="Days off in a week",
    about="Days of the week without a session, for each child over all its groups.",
    level=Level.STOP,
    source=BRENNER_2024,
    usual=Limit(least=1),
    unit="days",
    allowed=(0, 6),
    says="At least one to two days a week off organised training.",
    beyond="House rule: that a week without any is a stop.",
)
def rest_days(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    rest = days_off(week.days)
    if not limit.holds(rest):
        yield Told(f"{_free(rest)} off this week.", rest)
        return
    rests = [
        (days_off(week.days, (each.on for each in sessions)), child, sessions)
        for child, sessions in week.elsewhere_this_week
    ]
    short = [each for each in rests if not limit.holds(each[0])]
    if short:
        least = min(rest for rest, *_ in short)
        meant = Meant.of((child, sessions) for _, child, sessions in short)
        who = _with_other_groups(len(short))
        yield Told(f"{_free(least)} off this week for {who}.", least, *meant)


def _free(days: int) -> str:
    return f"Only {plural(days, 'day')}" if days else "No day"


def _with_other_groups(count: int) -> str:
    they = "it does" if count == 1 else "they do"
    return f"{plural(count, 'child', 'children')}, with what {they} in other groups"


@CHECKS.add(
    code="rest_days_with_sport",
    title="Days off in a week, with sport elsewhere",
    about=(
        "Days of the week without any sport, for each child of whom its family has said what it"
        " does outside the program."
    ),
    level=Level.LOOK,
    source=BRENNER_2024,
    says="At least one to two days a week off organised training.",
    beyond="House rule: that lessons of physical education are left out.",
    usual=Limit(least=1),
    unit="days",
    allowed=(0, 6),
)
def rest_days_with_sport(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    """A look and no stop: most of these days are not the program's to change."""
    found = []
    for child in week.children:
        others = child.within(week.starts, week.ends)
        here = {*week.days, *(each.on for each in others)}
        rest = days_off(here, child.sport_days)
        if child.sport_days and limit.holds(days_off(here)) and not limit.holds(rest):
            found.append((rest, child, others))
    if found:
        least = min(rest for rest, *_ in found)
        meant = Meant.of((child, others) for _, child, others in found)
        who = plural(len(found), "child", "children")
        yield Told(f"{_free(least)} off this week for {who}, with sport elsewhere.", least, *meant)


@CHECKS.add(
    code="sport_hours",
    title="Hours of sport in a week",
    about=(
        "All hours of sport of the week, here, in other groups and outside the program, against"
        " each child’s years of age, where its family has said what it does outside."
    ),
    level=Level.LOOK,
    source=JAYANTHI_2015,
    says=(
        "More hours a week of organised sport than years of age went with serious overuse injury:"
        " the odds were about twice as high."
    ),
    beyond="House rule: that it is asked of a plan, and of children of every sport.",
    usual=Limit(most=0),
    unit="hours more than years of age",
    allowed=(0, 10),
)
def sport_hours(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    here = sum(day.minutes for day in week.of(0))
    found = []
    for child in week.children:
        if child.sport_hours is None or child.age is None:
            continue
        others = child.within(week.starts, week.ends)
        minutes = here + sum(each.minutes for each in others)
        hours = together(child.sport_hours, 60 * minutes)
        over = hours - child.age
        if not limit.holds(over):
            found.append((hours, over, child, others))
    if found:
        most = max(hours for hours, *_ in found)
        meant = Meant.of((child, others) for *_, child, others in found)
        yield Told(
            f"{'Up to ' if len(found) > 1 else ''}{most:g} hours of sport this week, with sport"
            f" elsewhere: more than years of age for {plural(len(found), 'child', 'children')}.",
            round(max(over for _, over, *_ in found), 1),
            *meant,
        )


@CHECKS.add(
    code="strength_days",
    title="Strength days in a week",
    about="Days with pushing, pulling or leg work.",
    level=Level.LOOK,
    source=FAIGENBAUM_2009,
    usual=Limit(most=3),
    unit="days",
    allowed=(1, 7),
    says="To begin with, strength work on 2 to 3 days a week that do not follow each other.",
    beyond=(
        "House rule: that any pushing, pulling or leg work makes a strength day, however little."
    ),
)
def strength_days(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    days = len(week.strength_days)
    if not limit.holds(days):
        yield Told(f"{days} strength days this week; {limit} are usual.", days)


@CHECKS.add(
    code="consecutive_days",
    title="Strength days in a row",
    about=(
        "Strength work on two days that follow each other, also over the week’s edge and for each"
        " child over all its groups."
    ),
    level=Level.NOTE,
    source=FAIGENBAUM_2009,
    says="To begin with, strength work on 2 to 3 days a week that do not follow each other.",
    beyond=(
        "House rule: that any pushing, pulling or leg work makes a strength day, however little."
    ),
)
def consecutive_days(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    days = week.days_with_the_one_before
    if any((later - earlier).days == 1 for earlier, later in pairwise(days)):
        yield Told("Two strength days in a row; a day between them is usual.")
        return
    beside = [
        (child, [each for each in sessions if each.is_strength and _next_to(each.on, days)])
        for child, sessions in week.elsewhere
    ]
    if found := [(child, sessions) for child, sessions in beside if sessions]:
        who = _with_other_groups(len(found))
        yield Told(
            f"Two strength days in a row for {who}; a day between them is usual.",
            None,
            *Meant.of(found),
        )


def _next_to(day: dt.date, days: Iterable[dt.date]) -> bool:
    return any(abs((day - each).days) == 1 for each in days)


@CHECKS.add(
    code="week_contacts",
    title="Ground contacts in a week",
    about=(
        "All ground contacts of the week, in whatever group, against each child’s ceiling for one"
        " day: three days’ worth is usual."
    ),
    level=Level.LOOK,
    source=f"{HANDBOOKS}; the week is {COMMON_PRACTICE}",
    usual=Limit(most=300),
    unit="% of the child’s ceiling",
    allowed=(50, 700),
    says=("80 to 100 ground contacts in a session for grown beginners; children begin well below."),
    beyond=(
        "Common practice: three days’ worth in a week. House rule: how far below at which age."
    ),
)
def week_contacts(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    total = round(week.volumes[0].total.ground_contacts)
    if not total:
        return
    allowed = {child.key: child.ceiling * (limit.most or 0) // 100 for child in week.children}
    over = {key: most for key, most in allowed.items() if total > most}
    if over:
        yield Told(
            f"{total} ground contacts this week: more than is usual for {len(over)} of"
            f" {plural(len(allowed), 'child', 'children')}, the lowest at {min(over.values())}.",
            total,
        )
    together = [
        (child, sessions)
        for child, sessions in week.elsewhere_this_week
        if child.key not in over and total + contacts_of(sessions) > allowed[child.key]
    ]
    if together:
        most = max(contacts_of(sessions) for _, sessions in together)
        yield Told(
            f"{total} ground contacts here and up to {most} in other groups this week: more than"
            f" is usual for {plural(len(together), 'child', 'children')}.",
            total + most,
            *Meant.of(together),
        )


@CHECKS.add(
    code="landing_start",
    title="Landing from nothing",
    about=(
        "Ground contacts of each child, over all its groups, in its first week after two or more"
        " without any: on a day, and twice as many in the week."
    ),
    level=Level.LOOK,
    source=JOHNSON_2011,
    usual=Limit(most=60),
    unit="ground contacts a day",
    allowed=(10, 200),
    says=(
        "For children of 5 to 14 years the largest changes came with programs that began at "
        "50 to 60 jumps a session, twice a week, and grew weekly. The studies were of low "
        "quality, and safety was not rigorously tested."
    ),
    beyond=(
        "House rule: that what worked is a limit, for older children, too; that every "
        "ground contact counts, of skipping as of jumps; and that two weeks without are a "
        "new beginning."
    ),
)
def landing_start(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    most = limit.most or 0
    found = [(child, _landed(landings, week.starts)) for child, landings in week.landings]
    starts = [(child, landed) for child, landed in found if not landed.before]
    on_a_day = [(child, landed.on_a_day) for child, landed in starts if landed.on_a_day > most]
    if on_a_day:
        contacts = max(contacts for _, contacts in on_a_day)
        children = [child for child, _ in on_a_day]
        yield Told(
            f"{contacts} ground contacts on one day{_for(children, week)}, after two weeks without"
            f" any; {limit} are usual to begin with.",
            contacts,
            *week.meant(children),
        )
        return
    in_the_week = [
        (child, each.in_the_week) for child, each in starts if each.in_the_week > 2 * most
    ]
    if in_the_week:
        contacts = max(contacts for _, contacts in in_the_week)
        children = [child for child, _ in in_the_week]
        yield Told(
            f"{contacts} ground contacts this week{_for(children, week)}, after two weeks without"
            f" any; at most {2 * most}, on two days, are usual to begin with.",
            contacts,
            *week.meant(children),
        )


class Landed(NamedTuple):
    """Ground contacts of a week: on its fullest day, in all, and in the two weeks before."""

    on_a_day: int
    in_the_week: int
    before: float


def _landed(landings: Landings, starts: dt.date) -> Landed:
    days = [landings.get(day, 0) for day in days_of_week(starts)]
    before = sum(landings.get(starts - n * A_DAY, 0) for n in range(1, 15))
    return Landed(round(max(days)), round(sum(days)), before)


def _for(children: list[CheckedChild | None], week: CheckedWeek) -> str:
    """For whom it is, where that is not everybody."""
    if len(children) >= len(week.children):
        return ""
    return f" for {len(children)} of {plural(len(week.children), 'child', 'children')}"


@CHECKS.add(
    code="landing_days",
    title="Landing days in a row",
    about=("Days in a row on which a child lands, over all its groups and the week’s edge."),
    level=Level.LOOK,
    source=JOHNSON_2011,
    usual=Limit(most=1),
    unit="days",
    allowed=(1, 7),
    says="The programs had their jumps on days that do not follow each other.",
    beyond="House rule: that a day with any landing counts, of skipping as of jumps.",
)
def landing_days(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    rows = [(child, _in_a_row(landings, week.starts)) for child, landings in week.landings]
    over = [(child, days) for child, days in rows if not limit.holds(days)]
    if over:
        most, children = max(days for _, days in over), [child for child, _ in over]
        up_to = "Up to " if len({days for _, days in over}) > 1 else ""
        usual = "a day between them" if limit.most == 1 else str(limit)
        yield Told(
            f"{up_to}{most} landing days in a row{_for(children, week)}; {usual} is usual.",
            most,
            *week.meant(children),
        )


def _in_a_row(landings: Landings, starts: dt.date) -> int:
    """The longest row of landing days that ends in the week; it may begin before."""
    row = longest = 0
    while landings.get(starts - (row + 1) * A_DAY, 0) > 0:
        row += 1
    for day in days_of_week(starts):
        row = row + 1 if landings.get(day, 0) > 0 else 0
        longest = max(longest, row)
    return longest


class Growth(NamedTuple):
    """How much of a pattern there is this week, in `unit`, and what that is held against."""

    after: float
    before: float
    unit: str = "sets"

    @property
    def percent(self) -> float:
        """How much more it is; of nothing, the amount itself."""
        return 100 * (self.after - self.before) / self.before if self.before else self.after


def _grown(
    week: CheckedWeek,
    find: Callable[[WorkByDay], Mapping[str, Growth]],
    sentence: Callable[[str, Growth, str], str],
) -> Iterator[Told]:
    """What has grown in the cohort's work, by pattern, and then what has for single children
    alone, whose own days are others."""
    here = find(week.work)
    for pattern, growth in here.items():
        yield Told(sentence(pattern, growth, ""), round(growth.percent))
    alone: dict[str, list[tuple[Growth, CheckedChild]]] = defaultdict(list)
    for work, children in week.own_work:
        for pattern, growth in find(work).items():
            if pattern not in here:
                alone[pattern] += [(growth, child) for child in children]
    for pattern, found in sorted(alone.items()):
        most = max((growth for growth, _ in found), key=lambda growth: growth.percent)
        who = f" for {plural(len(found), 'child', 'children')}"
        children = [child for _, child in found]
        yield Told(sentence(pattern, most, who), round(most.percent), *week.meant(children))


def _patterns(work: WorkByDay, starts: dt.date) -> list[str]:
    """Those of the week whose volume should not jump."""
    return sorted(set(work.volume(starts).patterns) - GENTLE)


@CHECKS.add(
    code="pattern_start",
    title="A pattern from nothing",
    about=(
        "Sets of a movement pattern in a child’s first week after two or more without it. Jumps and"
        " landings are counted by their contacts."
    ),
    level=Level.LOOK,
    source=HOUSE_RULE,
    usual=Limit(most=MOST_TO_BEGIN_WITH),
    unit="sets",
    allowed=(1, 40),
)
def pattern_start(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    def find(work: WorkByDay) -> dict[str, Growth]:
        now, *earlier = (work.volume(week.starts - back * A_WEEK) for back in range(3))
        return {
            pattern: Growth(now.of_pattern(pattern).sets, 0)
            for pattern in _patterns(work, week.starts)
            if not any(before.of_pattern(pattern).sets for before in earlier)
            and not now.of_pattern(pattern).ground_contacts
            and not limit.holds(now.of_pattern(pattern).sets)
        }

    def sentence(pattern: str, growth: Growth, who: str) -> str:
        return (
            f"{_capital(pattern)}: {growth.after:g} sets this week{who}, after two weeks without"
            f" any; {limit} are usual to begin with."
        )

    yield from _grown(week, find, sentence)


@CHECKS.add(
    code="volume_jump",
    title="Jump in a pattern’s volume",
    about=(
        "How much more of a movement pattern a week holds than the fuller of the two weeks"
        " before, in sets, repetitions, seconds, metres or contacts; for single children over all"
        " their groups, where it is more than one would begin with."
    ),
    level=Level.LOOK,
    source=COMMON_PRACTICE,
    usual=Limit(most=50),
    unit="% more",
    allowed=(5, 300),
    beyond=(
        "House rule: the half, and the fuller of two weeks, so that a lighter week between "
        "hides nothing and blames nobody."
    ),
)
def volume_jump(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    def find(work: WorkByDay) -> dict[str, Growth]:
        is_of_all = work is week.work
        return _over(work, week.starts, limit, _fuller_of_two, or_few=is_of_all)

    def sentence(pattern: str, growth: Growth, who: str) -> str:
        return (
            f"{_capital(pattern)}: {growth.after:g} {growth.unit} this week{who}, after at most"
            f" {growth.before:g} in the two weeks before."
        )

    yield from _grown(week, find, sentence)


def _fuller_of_two(before: list[float]) -> float:
    """What a week is held against: the fuller of the two before it."""
    return max(before[:2])


@CHECKS.add(
    code="creeping",
    title="A pattern that creeps up",
    about=(
        "How much more of a movement pattern a week holds than the four weeks before do on average,"
        " as far as they hold any, where it has climbed already and is more than one would begin"
        " with: a little more every week adds up."
    ),
    level=Level.LOOK,
    source=HOUSE_RULE,
    usual=Limit(most=50),
    unit="% more",
    allowed=(5, 300),
)
def creeping(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    def find(work: WorkByDay) -> dict[str, Growth]:
        return _over(work, week.starts, limit, _climbed_mean, or_few=False)

    def sentence(pattern: str, growth: Growth, who: str) -> str:
        return (
            f"{_capital(pattern)}: {growth.after:g} {growth.unit} this week{who}, after"
            f" {round(growth.before, 1):g} a week on average in the weeks before."
        )

    yield from _grown(week, find, sentence)


def _climbed_mean(before: list[float]) -> float:
    """The mean of the weeks before that hold any, if three of them do and one of the last two is
    above it; else 0. What is suddenly more is no creeping, but a jump."""
    held = [each for each in before if each]
    mean = sum(held) / len(held) if len(held) >= LEAST_FOR_A_MEAN else 0
    return mean if max(before[:2]) > mean else 0


def _may_begin_with(work: Work) -> bool:
    return work.sets <= MOST_TO_BEGIN_WITH and work.ground_contacts <= MOST_CONTACTS_TO_BEGIN_WITH


def _over(
    work: WorkByDay,
    starts: dt.date,
    limit: Limit,
    usual: Callable[[list[float]], float],
    *,
    or_few: bool,
) -> dict[str, Growth]:
    """By pattern, in the first unit in which it is so, what is over the limit; `usual` gives from
    the amounts of the weeks before, the last one first, what it is held against, 0 for nothing. So
    few that one may begin with them are left out, if wished."""
    now, *earlier = (work.volume(starts - back * A_WEEK) for back in range(WEEKS_BEFORE + 1))
    found = {}
    for pattern in _patterns(work, starts):
        this_week = now.of_pattern(pattern)
        if not or_few and _may_begin_with(this_week):
            continue
        works = [before.of_pattern(pattern) for before in earlier]
        for unit, amount in AMOUNTS.items():
            after = amount(this_week)
            growth = Growth(after, usual([amount(each) for each in works]), unit)
            if growth.before and not limit.holds(growth.percent):
                found[pattern] = growth
                break
    return found


def _capital(pattern: str) -> str:
    return pattern_in_words(pattern).capitalize()


@CHECKS.add(
    code="missing_work",
    title="A kind of work missing for two weeks",
    about=(
        "Pushing, pulling, knee- and hip-dominant leg work and bracing, each at least once in"
        " two weeks."
    ),
    level=Level.LOOK,
    source=HOUSE_RULE,
)
def missing_work(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    now, last, _ = week.volumes
    if not last.patterns:
        return
    for kind, patterns in KINDS_OF_WORK.items():
        if patterns.isdisjoint(now.patterns) and patterns.isdisjoint(last.patterns):
            yield Told(f"No {kind} for two weeks.")
