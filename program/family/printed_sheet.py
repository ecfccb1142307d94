"""A session on paper: read from the floor, ticked off with a pencil. Nothing here queries."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import segno
from django.utils.safestring import SafeString, mark_safe

from program.engine.dose.dose import Side, Sides
from program.family.day_page import ReadPart, ReadSlot, SessionPage
from program.models import AssignedSession


@dataclass(frozen=True)
class Line:
    """One exercise of a sheet. `rounds` holds the boxes of each round, named by their side."""

    read: ReadSlot
    rounds: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class SheetPart:
    read: ReadPart
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Sheet:
    """What is printed for one child. `link` is the address of the session's page, in full; `notes`
    are what coaches say to everybody who does an exercise, by its id."""

    session: AssignedSession
    link: str
    notes: Mapping[int, tuple[str, ...]] = field(default_factory=dict)

    @cached_property
    def page(self) -> SessionPage:
        return SessionPage(self.session, self.notes)

    @cached_property
    def parts(self) -> list[SheetPart]:
        return [
            SheetPart(part, tuple(_line(read) for read in part.slots)) for part in self.page.parts
        ]

    @cached_property
    def code(self) -> SafeString:
        """The link as a QR code, drawn in the page."""
        drawn = segno.make(self.link, error="m").svg_inline(
            omitsize=True, border=4, svgclass="sheet-code", lineclass=None
        )
        return mark_safe(drawn)  # noqa: S308 -- drawn by us from an address of ours


def _line(read: ReadSlot) -> Line:
    slot = read.slot
    sided = slot.revision.sides == Sides.EACH
    names = (Side.LEFT.value, Side.RIGHT.value) if sided else ("",)
    return Line(read, tuple(names for _ in range(slot.rounds)))
