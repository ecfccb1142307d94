"""What came of the sessions a child was given, one after the other. Pure.

Everything that was given is counted once. A session that was missed for a cold or a journey, that
fell in a break, was called off or stayed closed does not count; every other one that was not done
was not done, whether somebody said so, nobody spoke of it once there was time to, or the coach
waited in vain at the venue.

Who was in the hall, or not, without a session of their own is counted beside that: it is neither
done nor a miss.
"""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass
from enum import StrEnum
from typing import Final, Literal, cast

GRACE: Final = dt.timedelta(days=2)
"""From a session's day until silence about it counts: many families log the day after."""

IN_A_ROW: Final = 2

type Told = Literal["done", "some", "not", "sick", "away", "missed", ""]
"""What was said of a session; "" where nobody has said anything. "not": not done, and nobody said
why."""

SPOKEN_OF: Final = frozenset({"not", "sick", "away"})
"""Not done, and the family said so: no silence to ask about."""


class CouldNot(StrEnum):
    """Why a session that was given could not be expected of a child, whatever was said of it."""

    NO = ""
    BREAK = "break"
    HELD_BACK = "held_back"
    CALLED_OFF = "called_off"
    NOTED = "noted"
    """It came after the hall's log had said whether the child was there."""


def told(state: str, absence: str) -> Told:
    """What a log says of a session; `state` is "" where there is no log."""
    if state == "not" and absence:
        return "missed" if absence == "no_word" else cast("Told", absence)
    return cast("Told", state)


@dataclass(frozen=True, slots=True)
class Due:
    """A session that was assigned for a day, and what was said of it."""

    key: int
    on: dt.date
    told: Told
    could_not: CouldNot = CouldNot.NO


def is_silent(session: Due) -> bool:
    """Whether somebody has still to be asked about a session that was not done."""
    is_noted = not session.told and session.could_not is CouldNot.NOTED
    return session.told not in SPOKEN_OF and not is_noted


def silent_run(sessions: Sequence[Due], today: dt.date) -> tuple[Due, ...]:
    """The sessions since the last one that was done, oldest first, if at least two of them passed
    without a word; otherwise nothing."""
    due = sorted(
        (each for each in sessions if each.on + GRACE <= today), key=lambda s: (s.on, s.key)
    )
    run: list[Due] = []
    for each in reversed(due):
        if each.told in {"done", "some"}:
            break
        run.insert(0, each)
    silent = sum(1 for each in run if is_silent(each))
    return tuple(run) if silent >= IN_A_ROW else ()


@dataclass(frozen=True, slots=True)
class Adherence:
    """What came of the sessions that were given; each is counted once.

    `done` is whole, `partly` some of it. `not_done` somebody said, for no reason told; `missed` the
    coach waited for in vain, and of `silent` nobody spoke. `sick`, `away`, `on_break`,
    `held_back`, `called_off` and `noted` do not count. Of `fresh` nobody has spoken yet, and there
    is still time to.
    """

    done: int = 0
    partly: int = 0
    not_done: int = 0
    missed: int = 0
    silent: int = 0
    sick: int = 0
    away: int = 0
    on_break: int = 0
    held_back: int = 0
    called_off: int = 0
    noted: int = 0
    fresh: int = 0

    @property
    def given(self) -> int:
        return self.counted + self.left_out + self.fresh

    @property
    def counted(self) -> int:
        """Those that could be done, and of which something is known or nobody spoke in time."""
        return self.done + self.partly + self.undone

    @property
    def undone(self) -> int:
        """Not done at all, as far as anybody knows."""
        return self.not_done + self.missed + self.silent

    @property
    def left_out(self) -> int:
        return self.sick + self.away + self.could_not

    @property
    def could_not(self) -> int:
        """In a break, called off, closed until somebody has answered, or sent after the hall's log
        was written."""
        return self.on_break + self.held_back + self.called_off + self.noted

    @property
    def reasons(self) -> str:
        """Why what does not count does not: "1 sick, 2 in a break"; "" where everything counts."""
        why = (
            (self.sick, "sick"),
            (self.away, "away"),
            (self.on_break, "in a break"),
            (self.held_back, "that stayed closed"),
            (self.called_off, "called off"),
            (self.noted, "noted in the hall"),
        )
        return _listed(why)

    def __add__(self, other: "Adherence") -> "Adherence":
        sums = zip(astuple(self), astuple(other), strict=True)
        return Adherence(*(mine + theirs for mine, theirs in sums))


def _listed(counts: Iterable[tuple[int, str]]) -> str:
    return ", ".join(f"{count} {words}" for count, words in counts if count)


NOTHING_YET: Final = Adherence()
_COUNTED_AS: Final = {"done": "done", "some": "partly", "sick": "sick", "away": "away"}
_COULD_NOT: Final = {
    CouldNot.BREAK: "on_break",
    CouldNot.HELD_BACK: "held_back",
    CouldNot.CALLED_OFF: "called_off",
    CouldNot.NOTED: "noted",
}
_UNDONE: Final = {"not": "not_done", "missed": "missed", "": "silent"}


def adherence(sessions: Sequence[Due], today: dt.date) -> Adherence:
    return Adherence(**Counter(_counted_as(each, today) for each in sessions))


def _counted_as(session: Due, today: dt.date) -> str:
    if session.told in _COUNTED_AS:
        return _COUNTED_AS[session.told]
    is_called_off = session.could_not is CouldNot.CALLED_OFF
    if not session.told and session.on + GRACE > today and not is_called_off:
        return "fresh"
    return _COULD_NOT.get(session.could_not) or _UNDONE[session.told]


@dataclass(frozen=True, slots=True)
class InTheHall:
    """How often the hall's log says of a child without a session that it was there, or why not."""

    there: int = 0
    sick: int = 0
    away: int = 0
    no_word: int = 0

    @property
    def in_words(self) -> str:
        """ "2 there, 1 sick"; "" where nothing was said."""
        return _listed(
            (
                (self.there, "there"),
                (self.sick, "sick"),
                (self.away, "away"),
                (self.no_word, "absent, no notice"),
            )
        )


NOBODY_LOOKED: Final = InTheHall()


def in_the_hall(said: Iterable[str]) -> InTheHall:
    """Of what was said once each: "there", "sick", "away" or "no_word"."""
    return InTheHall(**Counter(said))
