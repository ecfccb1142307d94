"""What a check of the installation says: it is well, wants a look, or is wrong; and how to mend it.

To add one: a function that returns a `Result`, with `@check(…)` over it, and its place in `CHECKS`
(`checks/__init__.py`). No sentence holds a password or anything about a person.
"""

import enum
from collections.abc import Callable
from dataclasses import dataclass


class Level(enum.Enum):
    WELL = "well"
    LOOK = "look"  # it serves; somebody should know
    WRONG = "wrong"


@dataclass(frozen=True)
class Result:
    level: Level
    says: str
    mend: str = ""

    @property
    def is_wrong(self) -> bool:
        return self.level == Level.WRONG


def well(says: str) -> Result:
    return Result(Level.WELL, says)


def look(says: str, mend: str) -> Result:
    return Result(Level.LOOK, says, mend)


def wrong(says: str, mend: str) -> Result:
    return Result(Level.WRONG, says, mend)


@dataclass(frozen=True)
class Check:
    """`for_ready`: `/health/ready` asks it too, every few seconds. `for_start`: without it a web
    server does not start."""

    name: str
    ask: Callable[[], Result]
    for_ready: bool = False
    for_start: bool = False

    def run(self) -> Result:
        """Never raises: what it comes upon is its answer."""
        try:
            return self.ask()
        except Exception as error:
            return wrong(
                f"could not be looked at ({type(error).__name__})", "Mend what is wrong above."
            )


def check(
    name: str, *, for_ready: bool = False, for_start: bool = False
) -> Callable[[Callable[[], Result]], Check]:
    return lambda ask: Check(name, ask, for_ready, for_start)
