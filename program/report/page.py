"""A report as it is read, on a screen or on paper. Nothing here queries."""

from dataclasses import dataclass
from functools import cached_property

from library.shared.lanes import PathwayLane
from program.models import EarlierReport, Report
from program.models.reports import SECTIONS
from program.report.facts import paths_of
from program.report.forms import TITLES


@dataclass(frozen=True)
class Paragraph:
    """`lanes` are the pathways drawn below it; `written` is what was written anew where the coach
    has put something else in its place, "" otherwise."""

    title: str
    text: str
    written: str
    lanes: tuple[PathwayLane, ...] = ()


@dataclass(frozen=True)
class ReportPage:
    report: Report | EarlierReport

    @cached_property
    def paragraphs(self) -> list[Paragraph]:
        return [self._paragraph(section) for section in SECTIONS]

    def _paragraph(self, section: str) -> Paragraph:
        generated, text = self.report.generated(section), self.report.text(section)
        return Paragraph(
            TITLES[section],
            text,
            generated if text != generated else "",
            self._lanes() if section == "learnt" else (),
        )

    def _lanes(self) -> tuple[PathwayLane, ...]:
        return tuple(path.lane for path in paths_of(self.report))
