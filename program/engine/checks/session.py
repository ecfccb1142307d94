"""The checks of one written session."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from program.engine.checks.rules import (
    COMMON_PRACTICE,
    FAIGENBAUM_2009,
    HANDBOOKS,
    HOUSE_RULE,
    USUAL,
    Check,
    CheckResult,
    Level,
    Limit,
    Rule,
    Settings,
    Told,
    findings,
)
from program.engine.dose.dose import Dose, DoseRange, Measure, Sides
from program.engine.volume import HIP_DOMINANT, KNEE_DOMINANT, PULL, PUSH
from program.engine.wording import clock, listed, plural, without_article

STRENGTH: Final = PUSH | PULL | KNEE_DOMINANT | HIP_DOMINANT
POWER: Final = frozenset({"jump", "land"})


@dataclass(frozen=True, slots=True)
class CheckedSlot:
    """`rounds` are the part's; `is_watched` where a grown-up has to watch; `amounts` is the range
    the exercise is used with; `is_for_nobody` where no child's kit allows it."""

    name: str
    pattern: str
    dose: Dose
    rounds: int
    is_watched: bool = False
    amounts: DoseRange | None = None
    is_for_nobody: bool = False


@dataclass(frozen=True, slots=True)
class CheckedSession:
    """A written session and the children it is for.

    `warm_up_seconds` is None without a warm-up. `seconds` is the timeline's. `ceilings` has each
    child's ground-contact ceiling on that day, lowered in a growth spurt. `not_placed_on_landing`
    counts children without a placement on a landing pathway. `lacking` gives, for each need of the
    session, the number of families without it out of `families`.
    """

    slots: tuple[CheckedSlot, ...]
    seconds: int
    target_minutes: int
    is_at_home: bool
    warm_up_seconds: int | None
    ceilings: tuple[int, ...] = ()
    not_placed_on_landing: int = 0
    lacking: Mapping[str, int] = field(default_factory=dict)
    families: int = 0

    @property
    def ground_contacts(self) -> int:
        return round(sum(slot.dose.ground_contacts * slot.rounds for slot in self.slots))


def check_session(session: CheckedSession, settings: Settings = USUAL) -> tuple[CheckResult, ...]:
    """What the session asks a look for, the most urgent first; nothing for an empty session."""
    return findings(CHECKS, session, settings) if session.slots else ()


def landing_first(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    lands = [slot for slot in session.slots if slot.pattern in POWER and slot.dose.contacts > 0]
    count = session.not_placed_on_landing
    if lands and count:
        who = plural(count, "child meets", "children meet")
        yield Told(f"{who} {lands[0].name} before anybody placed them on landing.", count)


def contacts(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    total = session.ground_contacts
    over = [each for each in session.ceilings if not limit.holds(_percent(total, each))]
    if over:
        yield Told(
            f"{total} ground contacts: more than is usual for {len(over)} of"
            f" {plural(len(session.ceilings), 'child', 'children')}; the lowest ceiling here is"
            f" {min(over)}.",
            total,
        )


def warm_up(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    if session.warm_up_seconds is None:
        yield Told("There is no warm-up.")


def warm_up_length(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    seconds = session.warm_up_seconds
    if seconds is not None and not limit.holds(seconds / 60):
        yield Told(f"The warm-up takes {clock(seconds)}; {limit} minutes are usual.", seconds / 60)


def length(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    wanted = session.target_minutes * 60
    over = session.seconds - wanted
    if not limit.holds(_percent(over, wanted)):
        minutes = round(over / 60)
        yield Told(f"{plural(minutes, 'minute')} longer than you wanted.", minutes)


def sets(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    hard = (slot for slot in session.slots if slot.pattern in STRENGTH | POWER)
    many = [slot for slot in hard if not limit.holds(slot.rounds)]
    if many:
        names = listed(slot.name for slot in many)
        yield Told(f"{names}: more than {limit.most} sets.", max(slot.rounds for slot in many))


def strength_repetitions(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    return _repetitions(session, STRENGTH, limit)


def power_repetitions(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    return _repetitions(session, POWER, limit)


def own_range(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    for slot in session.slots:
        amount = slot.dose.amount
        if slot.amounts and (outside := slot.amounts.outside(amount)):
            yield Told(f"{slot.name}: {amount} is {outside}.", amount)


def equal_sides(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    for slot in session.slots:
        dose = slot.dose
        is_counted = dose.measure is Measure.REPETITIONS
        if dose.sides is Sides.ALTERNATING and is_counted and dose.amount % 2:
            yield Told(
                f"{slot.name}: {dose.amount} gives one side one more than the other.", dose.amount
            )


def kit(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    if not session.is_at_home:
        return
    for what, lacking in session.lacking.items():
        if not limit.holds(_percent(lacking, session.families)):
            families = plural(lacking, "family has", "families have")
            yield Told(f"{families} no {without_article(what)}.", lacking)


def kit_of_nobody(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    unused = [slot.name for slot in session.slots if slot.is_for_nobody]
    if unused:
        where = "at anybody’s home" if session.is_at_home else "at the venue"
        yield Told(f"{listed(unused)}: what it needs is not {where}.", len(unused))


def supervision(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    watched = [slot.name for slot in session.slots if slot.is_watched]
    if session.is_at_home and watched:
        yield Told(f"At home a grown-up has to watch: {listed(watched)}.", len(watched))


CHECKS: Final = (
    Check(
        Rule(
            "landing_first",
            "Landing before it was placed",
            "Jumps and landings for children whom nobody has placed on a landing pathway.",
            Level.STOP,
            FAIGENBAUM_2009,
        ),
        landing_first,
    ),
    Check(
        Rule(
            "contacts",
            "Ground contacts in a session",
            "What the session asks of the feet against each child’s ceiling, which age sets and a"
            " growth spurt halves.",
            Level.LOOK,
            HANDBOOKS,
            Limit(most=100),
            "% of the child’s ceiling",
            (10, 150),
        ),
        contacts,
    ),
    Check(
        Rule(
            "warm_up",
            "No warm-up",
            "A session whose first part is not a warm-up.",
            Level.LOOK,
            FAIGENBAUM_2009,
        ),
        warm_up,
    ),
    Check(
        Rule(
            "warm_up_length",
            "Length of the warm-up",
            "How long the warm-up takes.",
            Level.NOTE,
            FAIGENBAUM_2009,
            Limit(5, 10),
            "minutes",
            (1, 30),
        ),
        warm_up_length,
    ),
    Check(
        Rule(
            "length",
            "Longer than wanted",
            "How far the session runs over the minutes you wanted.",
            Level.LOOK,
            HOUSE_RULE,
            Limit(most=10),
            "% over",
            (0, 100),
        ),
        length,
    ),
    Check(
        Rule(
            "sets",
            "Sets of one exercise",
            "Rounds of strength, jumping and landing exercises.",
            Level.LOOK,
            FAIGENBAUM_2009,
            Limit(most=3),
            "sets",
            (1, 10),
        ),
        sets,
    ),
    Check(
        Rule(
            "strength_repetitions",
            "Repetitions of strength work",
            "Repetitions of pushing, pulling and leg exercises in a set.",
            Level.NOTE,
            FAIGENBAUM_2009,
            Limit(6, 15),
            "repetitions",
            (1, 60),
        ),
        strength_repetitions,
    ),
    Check(
        Rule(
            "power_repetitions",
            "Repetitions of jumps and landings",
            "Repetitions of jumping and landing exercises in a set.",
            Level.NOTE,
            FAIGENBAUM_2009,
            Limit(3, 6),
            "repetitions",
            (1, 60),
        ),
        power_repetitions,
    ),
    Check(
        Rule(
            "own_range",
            "Outside the exercise’s own range",
            "Amounts that the exercise’s page does not give it.",
            Level.NOTE,
            HOUSE_RULE,
        ),
        own_range,
    ),
    Check(
        Rule(
            "equal_sides",
            "Sides not equal",
            "Odd amounts of what swaps sides.",
            Level.NOTE,
            HOUSE_RULE,
        ),
        equal_sides,
    ),
    Check(
        Rule(
            "kit_of_nobody",
            "Nobody has what it needs",
            "Exercises for which no home, or not the venue, has what is needed.",
            Level.LOOK,
            HOUSE_RULE,
        ),
        kit_of_nobody,
    ),
    Check(
        Rule(
            "kit",
            "Things that families lack",
            "Needs of a home session that are not met in so many homes.",
            Level.NOTE,
            HOUSE_RULE,
            Limit(most=50),
            "% of families",
            (0, 100),
        ),
        kit,
    ),
    Check(
        Rule(
            "supervision",
            "A grown-up watches",
            "Exercises of a home session that want a grown-up beside the child.",
            Level.NOTE,
            COMMON_PRACTICE,
        ),
        supervision,
    ),
)
"""In the order in which their findings are shown within a level."""


def _repetitions(session: CheckedSession, patterns: frozenset[str], limit: Limit) -> Iterator[Told]:
    for slot in session.slots:
        amount = slot.dose.amount
        is_counted = slot.dose.measure is Measure.REPETITIONS
        if slot.pattern in patterns and is_counted and not limit.holds(amount):
            yield Told(
                f"{slot.name}: {amount} is outside the {limit} that are usual for young people.",
                amount,
            )


def _percent(part: float, whole: float) -> float:
    """Of nothing, anything is beyond every limit, and nothing is none of it."""
    if whole:
        return 100 * part / whole
    return 0.0 if part <= 0 else float("inf")
