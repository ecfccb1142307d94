"""Whether words meant for everybody name somebody or repeat what a family wrote. Pure."""

import re
from collections.abc import Iterable
from typing import Final

QUOTED: Final = 6
"""So many words in a row that also stand in the other text are taken for repeated."""


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", text.casefold())


def names_in(text: str, names: Iterable[str]) -> list[str]:
    """Those of the names that stand in the text as whole words, whatever their case."""
    spoken = f" {' '.join(_words(text))} "
    return [name for name in names if _words(name) and f" {' '.join(_words(name))} " in spoken]


def quotes(text: str, other: str) -> bool:
    """Whether six words in a row of the other text, or all of a shorter one, stand in this one."""
    spoken, said = f" {' '.join(_words(text))} ", _words(other)
    length = min(QUOTED, len(said))
    if length < 3:
        return False
    runs = (said[start : start + length] for start in range(len(said) - length + 1))
    return any(f" {' '.join(run)} " in spoken for run in runs)
