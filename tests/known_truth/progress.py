"""Children who are asked for eight repetitions a side, sixteen times, on one step of a pathway."""

import datetime as dt
import random
from functools import cache
from typing import NamedTuple

from program.engine.progress import IN_A_ROW, Attempt, Move, Standing, suggest
from tests.known_truth import Row, beside_goals, chance

SEASONS, SESSIONS, ASKED = 400, 16, 8
FIRST_DAY = dt.date(2026, 9, 7)
DAYS_APART = 3
CUT_SHORT = 0.05
"""The chance that a side is cut short in a session, for reasons that have nothing to do with it."""


class Child(NamedTuple):
    """What a child can really do with either side, in repetitions, and by how much (SD) that varies
    from day to day; the effort it would rate, `own` the SD between such children of what they call
    the same; `stops`, who does no more than asked."""

    called: str
    can: float
    varies: float
    effort: float
    rates_within: float = 0.8
    own: float = 0.7
    stops: bool = True

    def season(self, chance: random.Random) -> list[Attempt]:
        usual = chance.gauss(self.effort, self.own)
        return [self._attempt(number, usual, chance) for number in range(SESSIONS)]

    def _attempt(self, number: int, usual: float, chance: random.Random) -> Attempt:
        sides = [self._managed(chance) for _ in ("left", "right")]
        done = min(sides) >= ASKED
        return Attempt(
            log=number,
            on=FIRST_DAY + number * dt.timedelta(days=DAYS_APART),
            target=ASKED,
            done=done,
            least=min(sides),
            best=max(sides),
            effort=min(10, max(0, round(chance.gauss(usual, self.rates_within)))),
        )

    def _managed(self, chance: random.Random) -> int:
        managed = max(0, round(chance.gauss(self.can, self.varies)))
        if chance.random() < CUT_SHORT / 2:
            managed = round(managed / 2)
        return min(managed, ASKED) if self.stops else managed


NOT_READY = Child("not ready: can do 5 of 8, very hard (8)", 5, 1, 8)
FITS = Child("fits: can do 8 or 9, hard (6)", 8.5, 1, 6, stops=False)
READY = Child("ready: could do 11 and stops at 8, rates 4 or 5", 11, 1, 4.5, 0.5, 0.2)
NOISY = Child("fits, noisy: 9 give or take 2, rates 5 give or take 2", 9, 2, 5, 2, stops=False)
FITS_ALWAYS_1 = Child("fits, always rates 1", 8.5, 1, 1, 0, 0)
DONE_ALWAYS_1 = Child("does all that is asked, always rates 1", 11, 1, 1, 0, 0)
SAYS_SO = Child("ready: does 11, rates 4 or 5", 11, 1, 4.5, 0.5, 0.2, stops=False)
EASY = Child("ready: could do 11 and stops at 8, rates 2 or 3", 11, 1, 2.5, 0.5, 0.2)
GENTLE = Child("fits, rates gently (3 where others say 6)", 8.5, 1, 3)

UP, BACK = Move.MOVE_ON, Move.STEP_BACK
WORDS = {UP: "told to move on", BACK: "told to step back"}
ASKED_OF = (
    (NOT_READY, BACK, "at least 100 %"),
    (FITS, UP, "at most 4 %"),
    (FITS, BACK, "at most 4 %"),
    (READY, UP, "at least 60 %"),
    (NOISY, UP, "at most 20 %"),
    (FITS_ALWAYS_1, UP, "at most 0 %"),
    (DONE_ALWAYS_1, UP, "at most 0 %"),
    (NOT_READY, UP, "–"),
    (READY, BACK, "–"),
    (NOISY, BACK, "–"),
    (SAYS_SO, UP, "–"),
    (EASY, UP, "–"),
    (GENTLE, UP, "–"),
)


@cache
def suggested(child: Child, number: int) -> frozenset[Move]:
    """All that is suggested of one season, asked after every session."""
    season = child.season(chance(child.called, number))
    return frozenset(_suggested(season[: n + 1]) for n in range(SESSIONS))


def _suggested(attempts: list[Attempt]) -> Move:
    efforts = [each.effort for each in attempts if each.effort is not None]
    known = Standing(
        measure="repetitions",
        usual=ASKED,
        high=12,
        has_harder=True,
        earlier_efforts=efforts[:-IN_A_ROW],
    )
    return suggest(attempts, known, attempts[-1].on).move


def rows(seasons: int = SEASONS) -> list[Row]:
    return [
        Row(
            child.called,
            WORDS[move],
            goal,
            sum(move in suggested(child, number) for number in range(seasons)),
            seasons,
        )
        for child, move, goal in ASKED_OF
    ]


def text() -> str:
    return TEXT.format(rows=beside_goals(rows()), seasons=SEASONS)


TEXT = """## Progress

{seasons} seasons of each kind of child: eight repetitions a side are asked in sixteen sessions,
three days apart. What a side can do varies from day to day by one repetition (SD) where nothing
else stands, what is rated by 0.8 points, and what such children call the same by 0.7. In one
session of twenty a side is cut short. The rule is asked after each, and one word is enough.

{rows}

A child that rates gently looks like one that is ready: what tells them apart is that it falls short
now and then.
"""
