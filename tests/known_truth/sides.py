"""Children who are asked for ten repetitions of each leg, sixteen times; looked at after each."""

import random
from collections.abc import Iterable
from functools import cache
from typing import NamedTuple

from program.engine.balance import LINE, WORTH_A_LOOK, Reading, balance
from tests.known_truth import Row, beside_goals, chance, table

ASKED, SESSIONS, SEASONS = 10, 16, 4000
LINES = (2.2, 2.4, 2.5, 2.6, LINE, 2.7, 2.8, 3.0)


class Legs(NamedTuple):
    """What the legs are really worth: repetitions of `left`, of `right` in the first session and in
    the last; `noise` is the SD of each leg from day to day. `stops`, who does no more than asked.
    """

    called: str
    left: float
    right: float
    right_at_last: float
    noise: float
    stops: bool = False

    def readings(self, chance: random.Random) -> Iterable[Reading]:
        for session in range(SESSIONS):
            gone = session / (SESSIONS - 1)
            right = self.right + gone * (self.right_at_last - self.right)
            yield Reading(self._managed(self.left, chance), self._managed(right, chance), session)

    def _managed(self, worth: float, chance: random.Random) -> int:
        managed = max(0, round(chance.gauss(worth, self.noise)))
        return min(managed, ASKED) if self.stops else managed


EQUAL_1 = Legs("equal legs, noise 1", 10, 10, 10, 1)
EQUAL_2 = Legs("equal legs, noise 2", 10, 10, 10, 2)
FIFTH_1 = Legs("one leg 20 % weaker, noise 1", 10, 8, 8, 1)
FIFTH_2 = Legs("one leg 20 % weaker, noise 2", 10, 8, 8, 2)
TENTH_2 = Legs("one leg 10 % weaker, noise 2", 10, 9, 9, 2)
DRIFTS_1 = Legs("equal at first, 30 % weaker at the end, noise 1", 10, 10, 7, 1)
STOPS_EQUAL_2 = EQUAL_2._replace(called="equal legs, noise 2, stops at ten", stops=True)
STOPS_1 = FIFTH_1._replace(called="one leg 20 % weaker, noise 1, stops at ten", stops=True)
STOPS_2 = FIFTH_2._replace(called="one leg 20 % weaker, noise 2, stops at ten", stops=True)
HIDDEN_1 = Legs("12 and 9.6 (20 % weaker), noise 1, stops at ten", 12, 9.6, 9.6, 1, stops=True)


class Look(NamedTuple):
    """What is seen after one session; `errors`, the difference in standard errors."""

    percent: float
    errors: float

    def speaks(self, line: float) -> bool:
        return self.errors > line and self.percent >= WORTH_A_LOOK


@cache
def looks(legs: Legs, seasons: int) -> list[list[Look | None]]:
    return [_season(legs, chance(legs.called, number)) for number in range(seasons)]


def _season(legs: Legs, chance: random.Random) -> list[Look | None]:
    readings = list(legs.readings(chance))
    return [_look(readings[: n + 1]) for n in range(SESSIONS)]


def _look(readings: list[Reading]) -> Look | None:
    found = balance(readings)
    return Look(found.percent, LINE * found.percent / found.margin) if found else None


def called_uneven(legs: Legs, within: int, seasons: int, line: float = LINE) -> int:
    return sum(
        any(look is not None and look.speaks(line) for look in season[:within])
        for season in looks(legs, seasons)
    )


GOALS = (
    (EQUAL_2, SESSIONS, "at most 5 %"),
    (FIFTH_1, 8, "at least 80 %"),
    (FIFTH_2, SESSIONS, "at least 65 %"),
)
OTHERS = (EQUAL_1, TENTH_2, DRIFTS_1, STOPS_EQUAL_2, STOPS_1, STOPS_2, HIDDEN_1)


def rows(seasons: int = SEASONS) -> list[Row]:
    asked = [*GOALS, *((legs, SESSIONS, "–") for legs in OTHERS)]
    return [
        Row(
            legs.called,
            f"called uneven within {within} sessions",
            goal,
            called_uneven(legs, within, seasons),
            seasons,
        )
        for legs, within, goal in asked
    ]


def text() -> str:
    return TEXT.format(rows=beside_goals(rows()), curve=_curve(), seasons=SEASONS, line=LINE)


def _curve() -> str:
    def share(legs: Legs, within: int, line: float) -> str:
        return f"{100 * called_uneven(legs, within, SEASONS, line) / SEASONS:.1f} %"

    head = ["line", *(f"{legs.called}, within {within}" for legs, within, _ in GOALS)]
    return table(
        head,
        (
            [f"{line:g}", *(share(legs, within, line) for legs, within, _ in GOALS)]
            for line in LINES
        ),
    )


TEXT = """## Left and right

{seasons} seasons of each kind of child. Ten repetitions a leg are asked, sixteen times; what a leg
manages varies from day to day by the noise (an SD, in repetitions), and whole repetitions are
written down. The coach looks after each session, and one word is enough to be called uneven.

{rows}

Who stops at the ten that were asked hides a part of the difference, and who could do more with
either leg hides all of it: left and right are only told apart where the weaker leg falls short.

A difference is spoken of where it is further from nothing than {line:g} standard errors, of eight
readings or more, and 15 % at least. What another line would have said:

{curve}
"""
