"""What a check is: a function with its rule, the rule's usual limit, and what a program made of it.

A program may switch a rule off or move its limit; it always does so with a reason, which is kept
elsewhere. Here only the outcome counts.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, NamedTuple

FAIGENBAUM_2009: Final = "Faigenbaum et al. 2009, from memory"
BRENNER_2024: Final = "Brenner & Watson 2024"
JAYANTHI_2015: Final = "Jayanthi et al. 2015"
JOHNSON_2011: Final = "Johnson, Salzberg & Stevenson 2011 (abstract)"
HANDBOOKS: Final = "strength and conditioning handbooks, from memory"
COMMON_PRACTICE: Final = "common practice"
HOUSE_RULE: Final = "house rule"


class Level(StrEnum):
    """How much a result asks for: to know it, to look at the plan again, or to say in writing why
    it goes out nevertheless."""

    NOTE = "note"
    LOOK = "look"
    STOP = "stop"


class Limit(NamedTuple):
    """What is usual, from the least to the most, both included; None where that end is open."""

    least: int | None = None
    most: int | None = None

    def __str__(self) -> str:
        if self.least is None:
            return "" if self.most is None else f"at most {self.most}"
        return f"at least {self.least}" if self.most is None else f"{self.least} to {self.most}"

    def holds(self, value: float) -> bool:
        over = self.most is not None and value > self.most
        return not over and (self.least is None or value >= self.least)


NO_LIMIT: Final = Limit()


@dataclass(frozen=True, slots=True)
class Rule:
    """What a check holds a plan against.

    `about` says in one sentence what is looked at; `says`, in our words, what a published source
    says, and `beyond` where the check goes beyond its source. `usual` is the limit where the
    program has not set its own, in `unit`; NO_LIMIT where there is no number. `allowed` is from the
    least to the most that a limit may be set to and still make sense.
    """

    code: str
    title: str
    about: str
    level: Level
    source: str
    usual: Limit = NO_LIMIT
    unit: str = ""
    allowed: tuple[int, int] = (0, 0)
    says: str = ""
    beyond: str = ""

    @property
    def has_limit(self) -> bool:
        return self.usual != NO_LIMIT

    def said(self, limit: Limit) -> str:
        """A limit with its unit: "at most 3 sets", "at least 1 day"."""
        only_one = limit in {Limit(1), Limit(None, 1)}
        return f"{limit} {self.unit.removesuffix('s') if only_one else self.unit}".strip()

    def is_weakened_by(self, setting: "Setting") -> bool:
        """Whether a stop would let pass what it stops by itself."""
        if self.level is not Level.STOP:
            return False
        return setting.is_off or not _is_within(setting.limit or self.usual, self.usual)

    def refusal(self, limit: Limit) -> str:
        """Why this cannot be the rule's limit, in a sentence; empty where it can."""
        low, high = self.allowed
        if any(not low <= each <= high for each in limit if each is not None):
            return f"Choose between {low} and {high} {self.unit}."
        if [each is None for each in limit] != [each is None for each in self.usual]:
            return f"Write a number: {self.usual} {self.unit} is usual."
        if None not in limit and limit[0] > limit[1]:  # type: ignore[operator]
            return "The least cannot be more than the most."
        return ""


def _is_within(limit: Limit, usual: Limit) -> bool:
    """Whether whatever a limit lets pass, the usual one does."""
    is_high_enough = usual.least is None or (limit.least is not None and limit.least >= usual.least)
    return is_high_enough and (
        usual.most is None or (limit.most is not None and limit.most <= usual.most)
    )


class Setting(NamedTuple):
    """A program's own word on a rule: it is off, or has another limit. What lets pass what the rule
    would stop by itself `is_said_again` as long as nobody else has confirmed it."""

    is_off: bool = False
    limit: Limit | None = None
    is_said_again: bool = False


type Settings = Mapping[str, Setting]

USUAL: Final[Settings] = {}
"""A program that has changed nothing."""


class Told(NamedTuple):
    """What a check function says: one sentence, and the number that was held against the limit.
    `who` are the keys of the children it means, () where it means all or none by itself, and
    `groups` those of the other groups that it comes from."""

    sentence: str
    found: float | None = None
    who: tuple[int, ...] = ()
    groups: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class CheckResult:
    """What a check found: one sentence for the coach, its number, the limit, and their source.

    `is_own_limit` where the program has moved the limit away from the source's. `who` are the keys
    of the children it means, and `groups` those of the other groups that it comes from: neither is
    named in the sentence. `is_switched_off` where it would be a stop, had the program not let it
    pass.
    """

    code: str
    level: Level
    sentence: str
    source: str
    found: float | None = None
    limit: Limit = NO_LIMIT
    is_own_limit: bool = False
    who: tuple[int, ...] = ()
    is_switched_off: bool = False
    groups: tuple[int, ...] = ()


type CheckFunction[Subject] = Callable[[Subject, Limit], Iterable[Told]]


class Checks[Subject]:
    """The checks of one kind of plan, in the order in which they are written, which is the order
    in which their rules and, within a level, their results are shown."""

    def __init__(self) -> None:
        self._functions: dict[Rule, CheckFunction[Subject]] = {}

    def add(
        self,
        code: str,
        title: str,
        about: str,
        level: Level,
        source: str,
        usual: Limit = NO_LIMIT,
        unit: str = "",
        allowed: tuple[int, int] = (0, 0),
        says: str = "",
        beyond: str = "",
    ) -> Callable[[CheckFunction[Subject]], CheckFunction[Subject]]:
        """A decorator of the function that applies this rule; see `Rule`."""
        rule = Rule(code, title, about, level, source, usual, unit, allowed, says, beyond)

        def added(function: CheckFunction[Subject]) -> CheckFunction[Subject]:
            self._functions[rule] = function
            return function

        return added

    @property
    def rules(self) -> tuple[Rule, ...]:
        return tuple(self._functions)

    def results(self, subject: Subject, settings: Settings) -> tuple[CheckResult, ...]:
        """What all these checks find, the most urgent first."""
        return most_urgent_first(
            result
            for rule, function in self._functions.items()
            for result in _results(rule, function, subject, settings)
        )


def _results[Subject](
    rule: Rule, function: CheckFunction[Subject], subject: Subject, settings: Settings
) -> Iterator[CheckResult]:
    setting = settings.get(rule.code, Setting())
    limit = setting.limit or rule.usual
    said = [] if setting.is_off else list(function(subject, limit))
    for told in said:
        yield CheckResult(
            rule.code,
            rule.level,
            told.sentence,
            rule.source,
            told.found,
            limit,
            is_own_limit=limit != rule.usual,
            who=told.who,
            groups=told.groups,
        )
    if setting.is_said_again:
        yield from _let_pass(rule, list(function(subject, rule.usual)), said)


def _let_pass(rule: Rule, usually: list[Told], said: list[Told]) -> Iterator[CheckResult]:
    """What the rule would have stopped by itself."""
    for told in usually:
        if told not in said:
            yield CheckResult(
                rule.code,
                Level.LOOK,
                told.sentence,
                rule.source,
                told.found,
                rule.usual,
                who=told.who,
                is_switched_off=True,
                groups=told.groups,
            )


def most_urgent_first(found: Iterable[CheckResult]) -> tuple[CheckResult, ...]:
    order = (Level.STOP, Level.LOOK, Level.NOTE)
    return tuple(sorted(found, key=lambda result: order.index(result.level)))
