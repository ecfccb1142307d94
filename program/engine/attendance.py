"""What came of the sessions a child was given, one after the other. Pure.

Only what was assigned counts. A session that somebody said was not done (away, a cold) is told and
no miss; a session nobody spoke of is one, once there was time to speak.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

GRACE: Final = dt.timedelta(days=2)
"""From a session's day until silence about it counts: many families log the day after."""

IN_A_ROW: Final = 2

type Told = Literal["done", "some", "not", ""]
"""What was said of a session; "" where nobody has said anything."""


@dataclass(frozen=True, slots=True)
class Due:
    """A session that was assigned for a day, and what was said of it."""

    key: int
    on: dt.date
    told: Told


def silent_run(sessions: Sequence[Due], today: dt.date) -> tuple[Due, ...]:
    """The sessions since the last one that was done, oldest first, if at least two of them passed
    in silence; otherwise nothing."""
    due = sorted(
        (each for each in sessions if each.on + GRACE <= today), key=lambda s: (s.on, s.key)
    )
    run: list[Due] = []
    for each in reversed(due):
        if each.told in {"done", "some"}:
            break
        run.insert(0, each)
    silent = sum(1 for each in run if not each.told)
    return tuple(run) if silent >= IN_A_ROW else ()


@dataclass(frozen=True, slots=True)
class Adherence:
    """How many of the sessions that count were done: `told_not` were excused and do not count."""

    done: int
    silent: int
    told_not: int

    @property
    def counted(self) -> int:
        """The sessions against which it is measured: those nobody was excused from."""
        return self.done + self.silent

    def __add__(self, other: "Adherence") -> "Adherence":
        return Adherence(
            self.done + other.done, self.silent + other.silent, self.told_not + other.told_not
        )


NOTHING_YET: Final = Adherence(0, 0, 0)


def adherence(sessions: Sequence[Due], today: dt.date) -> Adherence:
    due = [each for each in sessions if each.on + GRACE <= today]
    return Adherence(
        done=sum(1 for each in due if each.told in {"done", "some"}),
        silent=sum(1 for each in due if not each.told),
        told_not=sum(1 for each in due if each.told == "not"),
    )
