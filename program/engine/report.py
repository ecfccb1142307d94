"""What a block was for one child, from facts to sentences a family reads. Pure.

It speaks of the child alone: of what it did and learnt, never of other children, of weight or of
looks. What it was given and what came of that is told whole, as `engine.attendance` counts it.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from program.engine.attendance import Adherence
from program.engine.pain import TELLING_IS_RIGHT

NAMED: Final = 3
"""How many exercises are named one by one; more is a list nobody reads. Common practice."""

DRAWN: Final = 6
"""How many pathways are drawn, all that were travelled among them first: one sheet of paper."""

STEADY: Final = 0.75
"""From this share of what counted, done whole, steadiness is praised. Common practice."""


@dataclass(frozen=True, slots=True)
class Practised:
    """An exercise and in how many sessions it was done, all of it or some."""

    name: str
    times: int


@dataclass(frozen=True, slots=True)
class Stand:
    """An exercise a child worked on; `rank` counts the steps from the pathway's easiest."""

    name: str
    rank: int


@dataclass(frozen=True, slots=True)
class Journey:
    """Where a child stood on a pathway during the block, the oldest first, and what follows:
    the next exercise with the step's own test, "" where nothing does. `times` is how often
    something on it was done."""

    pathway: str
    stands: tuple[Stand, ...]
    follows: str = ""
    ready: str = ""
    times: int = 0

    @property
    def began(self) -> Stand:
        return self.stands[0]

    @property
    def here(self) -> Stand:
        return self.stands[-1]

    @property
    def steps(self) -> int:
        """Steps up; below zero, down."""
        return self.here.rank - self.began.rank

    @property
    def has_moved(self) -> bool:
        return self.here.name != self.began.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """`waits` says that nothing gets harder for now: a restriction, pain nobody has answered, or a
    child that grows fast. `hurt`: pain was reported in these sessions or during the block.
    `came_all_the_same` is how often it was in the hall without a session."""

    given_name: str
    sessions: int
    came_of_it: Adherence
    practised: tuple[Practised, ...] = ()
    journeys: tuple[Journey, ...] = ()
    waits: bool = False
    hurt: bool = False
    came_all_the_same: int = 0


@dataclass(frozen=True, slots=True)
class Written:
    """The four parts of a report, each to be read by itself; a line for each pathway."""

    practised: str
    learnt: str
    consistency: str
    ahead: str


def drawn(journeys: Sequence[Journey]) -> list[Journey]:
    """Those whose pathway is drawn: where the child moved, then where it did most."""
    ordered = sorted(journeys, key=lambda each: (not each.has_moved, -each.times, each.pathway))
    return ordered[: max(DRAWN, sum(1 for each in journeys if each.has_moved))]


def written(facts: Facts) -> Written:
    return Written(_practised(facts), _learnt(facts), _consistency(facts), _ahead(facts))


def _practised(facts: Facts) -> str:
    if not facts.practised:
        return f"Nobody has told us yet what {facts.given_name} did in this block."
    ordered = sorted(facts.practised, key=lambda each: (-each.times, each.name))
    named = [f"“{each.name}” ({_times(each.times)})" for each in ordered[:NAMED]]
    most = f"Most often: {listed(named)}." if len(ordered) > NAMED else f"{listed(named)}."
    exercises, sessions = _count(len(ordered), "exercise"), _count(facts.sessions, "session")
    return f"{facts.given_name} practised {exercises} in {sessions}. {most}"


def _learnt(facts: Facts) -> str:
    if not facts.journeys:
        return f"Nothing of what {facts.given_name} practised stands on a pathway yet."
    ordered = sorted(facts.journeys, key=lambda each: each.pathway)
    said = [_moved(facts.given_name, each) for each in ordered if each.has_moved]
    stayed = sorted((e for e in ordered if not e.has_moved), key=lambda each: -each.times)
    if stayed:
        named = [f"“{each.here.name}” ({each.pathway})" for each in stayed[:NAMED]]
        more = len(stayed) - NAMED
        named += [_count(more, "more exercise")] if more > 0 else []
        said.append(
            f"{facts.given_name} kept at {listed(named)}: "
            "doing a thing calmly and well takes its time."
        )
    return "\n".join(said)


def _moved(name: str, journey: Journey) -> str:
    began, here = f"“{journey.began.name}”", f"“{journey.here.name}”"
    if journey.steps > 0:
        steps = _count(journey.steps, "step")
        return f"{journey.pathway}: {name} began with {began} and now works on {here}, {steps} on."
    if journey.steps < 0:
        return (
            f"{journey.pathway}: from {began} {name} went back to {here}, to have it calm and "
            "sure before more is asked."
        )
    return f"{journey.pathway}: from {began} {name} changed to {here}, which is as hard."


def _consistency(facts: Facts) -> str:
    told, came = facts.came_of_it, _came_all_the_same(facts)
    if not told.given:
        said = [f"No session of this block was given to {facts.given_name} yet.", came]
        return " ".join(filter(None, said))
    said = [_given(facts.given_name, told), _unheard(told)]
    if facts.hurt:
        said.append(f"{TELLING_IS_RIGHT} It matters more than any count.")
    elif told.counted > 1 and told.done / told.counted >= STEADY:
        said.append("That steadiness is what learning is made of.")
    return " ".join(filter(None, [*said, came]))


def _came_all_the_same(facts: Facts) -> str:
    if not facts.came_all_the_same:
        return ""
    often = _times(facts.came_all_the_same)
    return f"{facts.given_name} also came {often} when no session was ready."


def _given(name: str, told: Adherence) -> str:
    """What was given, and what came of each of it."""
    why = f" ({told.reasons})" if told.reasons else ""
    if told.given == 1:
        became = (
            (told.done, "it was done"),
            (told.partly, "some of it was done"),
            (told.undone, "it was not done"),
            (told.left_out, f"it does not count{why}"),
            (told.fresh, "nobody has told us of it yet"),
        )
        return f"{name} was given one session, and {next(it for n, it in became if n)}."
    counts = (
        (told.done, "{} done"),
        (told.partly, "some of it in {}"),
        (told.undone, "{} not done"),
        (told.left_out, f"{{}} that {'does' if told.left_out == 1 else 'do'} not count{why}"),
        (told.fresh, "{} that nobody has told us of yet"),
    )
    each = [words.format("one" if n == 1 else n) for n, words in counts if n]
    return f"{name} was given {told.given} sessions: {listed(each)}."


def _unheard(told: Adherence) -> str:
    """Of what was not done, that of which nobody spoke may have been done."""
    if not told.silent:
        return ""
    if told.given == 1:
        which = "it"
    elif told.silent == told.undone:
        which = "the one not done" if told.undone == 1 else f"all {told.undone} not done"
    else:
        which = f"{'one' if told.silent == 1 else told.silent} of those not done"
    was = "it was" if told.silent == 1 else "they were"
    return f"Of {which} we heard nothing; perhaps {was} done all the same."


def _ahead(facts: Facts) -> str:
    if facts.waits:
        return (
            f"For now nothing gets harder for {facts.given_name}: what is there is kept up, as far "
            "as it does not hurt, and the coach says when more may come."
        )
    moved_first = sorted(facts.journeys, key=lambda each: (-each.steps, each.pathway))
    onwards = [each for each in moved_first if each.follows][:NAMED]
    if not onwards:
        return f"{facts.given_name} goes on with what is there, and the coach says what follows."
    return "\n".join(
        f"{each.pathway}: next comes “{each.follows}”{_when(each.ready)}." for each in onwards
    )


def _when(ready: str) -> str:
    """The step's own test, most of which are written as "Ready when …"."""
    test = ready.strip().rstrip(".")
    if not test:
        return ""
    test = f"{test[:1].lower()}{test[1:]}"
    return f", {test}" if test.startswith("ready ") else f". The test for it: {test}"


def listed(words: Sequence[str]) -> str:
    """ "a, b and c" """
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


def _times(count: int) -> str:
    return "once" if count == 1 else "twice" if count == 2 else f"{count} times"


def _count(count: int, word: str) -> str:
    return f"one {word}" if count == 1 else f"{count} {word}s"


DELICATE: Final = (
    r"weight|weigh[s]?|kg|kilos?|overweight|fat|fatter|thin|thinner|slim|slimmer|skinny|diet"
    r"|pretty|ugly"
    r"|worst|slowest|weakest|than the others|than other children|behind the others"
    r"|ahead of the others"
)
"""Words about weight, looks or other children. From memory and surely not all: a reason to read a
sentence again, no more."""


def delicate_words(text: str) -> tuple[str, ...]:
    """What in a text a coach may want to read again before it goes to a family."""
    found = re.findall(rf"\b(?:{DELICATE})\b", text.lower())
    return tuple(dict.fromkeys(found))
