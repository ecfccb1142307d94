"""A movement file's text, and errors that name the file, the line and what is allowed."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

type Place = tuple[str | int, ...]


class MovementError(ValueError):
    """A movement file that cannot be drawn: `path`, `line` and `message` say where and why.

    `place` are the keys that lead to the mistake, as far as there are any.
    """

    def __init__(self, path: str, line: int, message: str, place: Place = ()) -> None:
        super().__init__(f"{path}, line {line}: {message}")
        self.path, self.line, self.message, self.place = path, line, message, place


@dataclass(frozen=True)
class Source:
    """Parsed TOML that remembers where each value stands."""

    path: str
    text: str
    data: dict[str, Any] = field(compare=False)

    @classmethod
    def read(cls, file: Path) -> Source:
        return cls.parse(file.name, file.read_text(encoding="utf-8"))

    @classmethod
    def parse(cls, path: str, text: str) -> Source:
        try:
            return cls(path, text, tomllib.loads(text))
        except RecursionError:
            raise MovementError(path, 1, "not readable as TOML: nested too deeply") from None
        except tomllib.TOMLDecodeError as problem:
            line = re.search(r"line (\d+)", str(problem))
            number = int(line.group(1)) if line else text.count("\n") + 1
            raise MovementError(path, number, f"not readable as TOML: {problem}") from problem

    def error(self, place: Place, message: str) -> MovementError:
        return MovementError(self.path, self.line_of(place), message, place)

    def line_of(self, place: Place) -> int:
        """The line where the value at `place` (keys and list positions) is written, from 1."""
        lines = self.text.splitlines()
        start, rest = self._header(lines, place)
        for key in (str(key) for key in rest if isinstance(key, str)):
            wanted = re.compile(rf"(^|[\s{{,.]){re.escape(key)}\s*[=.]")
            for number in range(start, len(lines)):
                if number > start and lines[number].lstrip().startswith("["):
                    break
                if wanted.search(lines[number]):
                    start = number
                    break
        return start + 1

    @staticmethod
    def _header(lines: list[str], place: Place) -> tuple[int, Place]:
        """The line of the longest table header that leads to `place`, and what is left to find."""
        for size in range(len(place), 0, -1):
            head, position, last = place[:size], 0, place[size - 1]
            if isinstance(last, int):
                head, position = head[:-1], last
            if any(isinstance(key, int) for key in head):
                continue
            name = r"\s*\.\s*".join(f'"?{re.escape(str(key))}"?' for key in head)
            header = re.compile(rf"^\s*\[+\s*{name}\s*\]+")
            found = [number for number, line in enumerate(lines) if header.match(line)]
            if position < len(found):
                return found[position], place[size:]
        return 0, place

    def table(self, place: Place, value: object, allowed: Iterable[str]) -> Mapping[str, Any]:
        """`value` as a table with only `allowed` keys."""
        if not isinstance(value, dict):
            raise self.error(place, f"{_name(place)} must be a table")
        names = sorted(allowed)
        for key in value:
            if key not in names:
                raise self.error(
                    (*place, key), f"{_name(place)} has no {key!r}; allowed: {', '.join(names)}"
                )
        return value

    def number(self, place: Place, value: object, low: float, high: float) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.error(place, f"{_name(place)} must be a number from {low:g} to {high:g}")
        if not low <= value <= high:
            raise self.error(place, f"{_name(place)} is {value:g}; allowed: {low:g} to {high:g}")
        return float(value)

    def text_value(self, place: Place, value: object) -> str:
        if not isinstance(value, str) or not value.strip():
            raise self.error(place, f"{_name(place)} must be words between quotation marks")
        return value

    def choice(self, place: Place, value: object, allowed: Iterable[str]) -> str:
        names = list(allowed)
        if not isinstance(value, str) or value not in names:
            raise self.error(place, f"{_name(place)} is {value!r}; allowed: {', '.join(names)}")
        return value

    def numbers(self, place: Place, value: object, sizes: tuple[int, ...]) -> list[float]:
        if not isinstance(value, list) or len(value) not in sizes:
            counts = " or ".join(str(size) for size in sizes)
            raise self.error(place, f"{_name(place)} must be a list of {counts} numbers")
        return [self.number(place, item, -400, 400) for item in value]


def _name(place: Place) -> str:
    return ".".join(str(key) for key in place if isinstance(key, str)) or "the file"
