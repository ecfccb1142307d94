"""Does a written session stay within what is sensible for children? Each check is one function.

A check says one sentence, with its numbers and where its limit comes from. No check diagnoses or
forbids: the coach, qualified supervision and local rules decide.
"""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise
from typing import Final

from program.engine.dose import Dose, Measure, Sides
from program.engine.volume import HIP_DOMINANT, KNEE_DOMINANT, PULL, PUSH

FAIGENBAUM_2009: Final = "Faigenbaum et al. 2009, from memory"
BRENNER_2024: Final = "Brenner & Watson 2024"
HANDBOOKS: Final = "strength and conditioning handbooks, from memory"
HOUSE_RULE: Final = "house rule"

STRENGTH: Final = PUSH | PULL | KNEE_DOMINANT | HIP_DOMINANT
POWER: Final = frozenset({"jump", "land"})
STRENGTH_REPETITIONS: Final = (6, 15)
POWER_REPETITIONS: Final = (3, 6)
MOST_SETS: Final = 3
WARM_UP_SECONDS: Final = (5 * 60, 10 * 60)
MOST_STRENGTH_DAYS: Final = 3
LEAST_REST_DAYS: Final = 1
OVER_TARGET: Final = 1.1
"""A session is long when it is this much over what the coach wanted."""

KINDS_OF_WORK: Final[Mapping[str, frozenset[str]]] = {
    "pushing": PUSH,
    "pulling": PULL,
    "knee-dominant leg work": KNEE_DOMINANT,
    "hip-dominant leg work": HIP_DOMINANT,
    "bracing": frozenset({"front_brace", "side_brace"}),
}
"""What should not be missing for two weeks."""


class Level(StrEnum):
    """How much a finding asks for: to know it, or to look at the plan again."""

    NOTE = "note"
    LOOK = "look"


@dataclass(frozen=True, slots=True)
class Finding:
    """What a check found: one sentence for the coach, and the source of its limit."""

    code: str
    level: Level
    sentence: str
    source: str


@dataclass(frozen=True, slots=True)
class CheckedSlot:
    """`rounds` are the part's; `is_watched` where a grown-up has to watch."""

    name: str
    pattern: str
    dose: Dose
    rounds: int
    is_watched: bool = False


@dataclass(frozen=True, slots=True)
class CheckedSession:
    """A written session, what is around it, and the children it is for.

    `warm_up_seconds` is None without a warm-up. `seconds` is the timeline's. `lowest_ceiling` is
    the lowest ground-contact ceiling in the cohort, None without children. `not_placed_on_landing`
    counts children without a placement on a landing pathway. `lacking` gives, for each need of the
    session, the number of families without it out of `families`. `days` are the cohort's training
    days of this week, this one included. `recent_patterns` are those of the last two weeks and this
    session; None before two weeks have been written.
    """

    slots: tuple[CheckedSlot, ...]
    seconds: int
    target_minutes: int
    is_at_home: bool
    warm_up_seconds: int | None
    lowest_ceiling: int | None = None
    not_placed_on_landing: int = 0
    lacking: Mapping[str, int] = field(default_factory=dict)
    families: int = 0
    days: frozenset[dt.date] = frozenset()
    recent_patterns: frozenset[str] | None = None


type Check = Callable[[CheckedSession], Iterable[Finding]]


def findings(session: CheckedSession) -> tuple[Finding, ...]:
    """Everything worth a look, what asks for a look first; nothing for an empty session."""
    if not session.slots:
        return ()
    found = [finding for check in CHECKS for finding in check(session)]
    return tuple(sorted(found, key=lambda finding: finding.level is Level.NOTE))


def warm_up(session: CheckedSession) -> Iterator[Finding]:
    seconds, (least, most) = session.warm_up_seconds, WARM_UP_SECONDS
    if seconds is None:
        yield Finding("warm_up", Level.LOOK, "There is no warm-up.", FAIGENBAUM_2009)
    elif not least <= seconds <= most:
        yield Finding(
            "warm_up",
            Level.NOTE,
            f"The warm-up takes {clock(seconds)}; five to ten minutes are usual.",
            FAIGENBAUM_2009,
        )


def length(session: CheckedSession) -> Iterator[Finding]:
    wanted = session.target_minutes * 60
    if session.seconds > wanted * OVER_TARGET:
        over = round((session.seconds - wanted) / 60)
        yield Finding(
            "length", Level.LOOK, f"{plural(over, 'minute')} longer than you wanted.", HOUSE_RULE
        )


def repetitions(session: CheckedSession) -> Iterator[Finding]:
    for slot in session.slots:
        limits = _youth_range(slot.pattern)
        if limits is None or slot.dose.measure is not Measure.REPETITIONS:
            continue
        amount, (least, most) = slot.dose.amount, limits
        if not least <= amount <= most:
            yield Finding(
                "repetitions",
                Level.NOTE,
                f"{slot.name}: {amount} is outside the {least} to {most} that are usual for"
                " young people.",
                FAIGENBAUM_2009,
            )


def sets(session: CheckedSession) -> Iterator[Finding]:
    many = [slot for slot in session.slots if slot.rounds > MOST_SETS and _is_hard(slot.pattern)]
    if many:
        yield Finding(
            "sets",
            Level.LOOK,
            f"{listed(slot.name for slot in many)}: more than {MOST_SETS} sets.",
            FAIGENBAUM_2009,
        )


def contacts(session: CheckedSession) -> Iterator[Finding]:
    total = round(sum(slot.dose.ground_contacts * slot.rounds for slot in session.slots))
    if session.lowest_ceiling is not None and total > session.lowest_ceiling:
        yield Finding(
            "contacts",
            Level.LOOK,
            f"{total} ground contacts; the youngest here should have at most"
            f" {session.lowest_ceiling}.",
            HANDBOOKS,
        )


def landing_first(session: CheckedSession) -> Iterator[Finding]:
    lands = [slot for slot in session.slots if slot.pattern in POWER and slot.dose.contacts > 0]
    if lands and session.not_placed_on_landing:
        who = plural(session.not_placed_on_landing, "child meets", "children meet")
        yield Finding(
            "landing_first",
            Level.LOOK,
            f"{who} {lands[0].name} before anybody placed them on landing.",
            FAIGENBAUM_2009,
        )


def missing_work(session: CheckedSession) -> Iterator[Finding]:
    if session.recent_patterns is None:
        return
    for kind, patterns in KINDS_OF_WORK.items():
        if session.recent_patterns.isdisjoint(patterns):
            yield Finding("missing_work", Level.LOOK, f"No {kind} for two weeks.", HOUSE_RULE)


def equal_sides(session: CheckedSession) -> Iterator[Finding]:
    for slot in session.slots:
        dose = slot.dose
        is_counted = dose.measure is Measure.REPETITIONS
        if dose.sides is Sides.ALTERNATING and is_counted and dose.amount % 2:
            yield Finding(
                "equal_sides",
                Level.NOTE,
                f"{slot.name}: {dose.amount} gives one side one more than the other.",
                HOUSE_RULE,
            )


def kit(session: CheckedSession) -> Iterator[Finding]:
    if not session.is_at_home:
        return
    for what, lacking in session.lacking.items():
        if lacking * 2 > session.families:
            families = plural(lacking, "family has", "families have")
            yield Finding("kit", Level.NOTE, f"{families} no {without_article(what)}.", HOUSE_RULE)


def supervision(session: CheckedSession) -> Iterator[Finding]:
    watched = [slot.name for slot in session.slots if slot.is_watched]
    if session.is_at_home and watched:
        yield Finding(
            "supervision",
            Level.NOTE,
            f"At home a grown-up has to watch: {listed(watched)}.",
            HOUSE_RULE,
        )


def training_days(session: CheckedSession) -> Iterator[Finding]:
    days = sorted(session.days)
    if len(days) > MOST_STRENGTH_DAYS:
        yield Finding(
            "training_days",
            Level.LOOK,
            f"{len(days)} strength days this week; two to three are usual.",
            FAIGENBAUM_2009,
        )
    if any((later - earlier).days == 1 for earlier, later in pairwise(days)):
        yield Finding(
            "consecutive_days",
            Level.NOTE,
            "Two strength days in a row; a day between them is usual.",
            FAIGENBAUM_2009,
        )
    if 7 - len(days) < LEAST_REST_DAYS:
        yield Finding("rest_days", Level.LOOK, "No day off this week.", BRENNER_2024)


CHECKS: Final[Sequence[Check]] = (
    landing_first,
    contacts,
    warm_up,
    length,
    sets,
    repetitions,
    missing_work,
    training_days,
    equal_sides,
    kit,
    supervision,
)
"""In the order in which their findings are shown within a level."""


def _youth_range(pattern: str) -> tuple[int, int] | None:
    if pattern in STRENGTH:
        return STRENGTH_REPETITIONS
    return POWER_REPETITIONS if pattern in POWER else None


def _is_hard(pattern: str) -> bool:
    return pattern in STRENGTH | POWER


def clock(seconds: int) -> str:
    """Minutes and seconds: 232 is "3:52"."""
    return f"{seconds // 60}:{seconds % 60:02}"


def plural(count: int, one: str, many: str = "") -> str:
    """ "1 minute", "2 minutes"; `many` where an s will not do."""
    return f"{count} {one if count == 1 else many or f'{one}s'}"


def listed(names: Iterable[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last


def without_article(what: str) -> str:
    """A need as it stands after "no": "a stable seat" is "stable seat"."""
    for article in ("a ", "an ", "the "):
        what = what.removeprefix(article)
    return what
