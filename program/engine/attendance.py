"""What came of the sessions a child was given, one after the other. Pure.

Only what was assigned counts. A session that somebody said was not done (away, a cold) is told and
no miss; one nobody spoke of is, once there was time to speak, and so is one at the venue to which a
child did not come without a word.
"""

import datetime as dt
from collections import Counter
from collections.abc import Sequence
from dataclasses import astuple, dataclass
from typing import Final, Literal, cast

GRACE: Final = dt.timedelta(days=2)
"""From a session's day until silence about it counts: many families log the day after."""

IN_A_ROW: Final = 2

type Told = Literal["done", "some", "not", "sick", "away", "missed", ""]
"""What was said of a session; "" where nobody has said anything. "not" is excused for a reason
nobody named."""

EXCUSED: Final = frozenset({"not", "sick", "away"})


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
    silent = sum(1 for each in run if each.told not in EXCUSED)
    return tuple(run) if silent >= IN_A_ROW else ()


@dataclass(frozen=True, slots=True)
class Adherence:
    """How many of the sessions that count were done. `silent` nobody spoke of, `missed` the coach
    waited for in vain; `told_not` were excused and do not count, `sick` and `away` among them."""

    done: int = 0
    silent: int = 0
    told_not: int = 0
    missed: int = 0
    sick: int = 0
    away: int = 0

    @property
    def counted(self) -> int:
        """The sessions against which it is measured: those nobody was excused from."""
        return self.done + self.silent + self.missed

    @property
    def told_else(self) -> int:
        """Excused for another reason than being sick or away, or for one nobody named."""
        return self.told_not - self.sick - self.away

    def __add__(self, other: "Adherence") -> "Adherence":
        sums = zip(astuple(self), astuple(other), strict=True)
        return Adherence(*(mine + theirs for mine, theirs in sums))


NOTHING_YET: Final = Adherence()


def adherence(sessions: Sequence[Due], today: dt.date) -> Adherence:
    due = [each for each in sessions if each.on + GRACE <= today]
    found: Counter[str] = Counter(each.told for each in due)
    return Adherence(
        done=found["done"] + found["some"],
        silent=found[""],
        told_not=sum(found[excuse] for excuse in EXCUSED),
        missed=found["missed"],
        sick=found["sick"],
        away=found["away"],
    )
