"""Seasons of invented children whose truth is known, and what the rules say of them.

`uv run python -m tests.known_truth` writes `program/docs/known-truth.md` anew, from `SEED`. The
children are defined in `sides.py`, `growth.py` and `progress.py`, each with its truth; the rules
are the program's own. Nothing here needs a database.
"""

import hashlib
import random
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NamedTuple

SEED = 2026
DOCUMENT = Path(__file__).parents[2] / "program" / "docs" / "known-truth.md"


class Row(NamedTuple):
    """In how many of `of` seasons the rule spoke (or held) about such children, beside the goal."""

    children: str
    asked: str
    goal: str
    times: int
    of: int

    @property
    def percent(self) -> float:
        return 100 * self.times / self.of


def chance(*names: object) -> random.Random:
    """Chance of its own for each season, the same on every machine."""
    told = "/".join(map(str, (SEED, *names)))
    return random.Random(hashlib.blake2b(told.encode(), digest_size=8).digest())


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def beside_goals(rows: Iterable[Row]) -> str:
    told = ([row.children, row.asked, row.goal, f"{row.percent:.1f} %"] for row in rows)
    return table(["children", "how often", "goal", "measured"], told)
