"""The rows of the queue: a finding, or equal findings of several children. Asks no database."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from program.engine.wording import listed
from program.review.children import Colleague
from program.review.finding import Finding

SECONDS_A_CHILD: Final = 3
"""What reading one more name takes, beside what the decision does."""


@dataclass(frozen=True)
class Row:
    """`findings` are of different children, in the order of names; more than one only of those that
    are alike."""

    findings: tuple[Finding, ...]

    @property
    def first(self) -> Finding:
        return self.findings[0]

    @property
    def only(self) -> Finding | None:
        return self.first if len(self.findings) == 1 else None

    @property
    def names(self) -> str:
        return listed(str(each.who.child) for each in self.findings)

    @property
    def headline(self) -> str:
        return self.first.alike

    @cached_property
    def evidence(self) -> tuple[str, ...]:
        """What all of them rest on; what differs is said child by child."""
        same = {each.evidence for each in self.findings}
        return self.first.evidence if len(same) == 1 else ()

    @property
    def actions(self) -> list[str]:
        """By their labels, what may be done for all of them in one press."""
        return labels_for_all(self.first)

    @property
    def keyed_actions(self) -> list[tuple[int, str]]:
        """With the digit that takes each: what leads elsewhere, or mails, has the 1."""
        return list(enumerate(self.actions, 2 if self.url or self.first.is_invited else 1))

    @property
    def url(self) -> str:
        """Where all of them are decided, "" where each has a page of its own."""
        return self.first.url_for_all

    @property
    def is_invited(self) -> bool:
        """Whether the invitation may be sent again to all."""
        return self.first.is_invited

    @property
    def colleagues(self) -> list[Colleague]:
        """Who looks after all of them."""
        others = (set(each.who.colleagues) for each in self.findings[1:])
        return [one for one in self.first.who.colleagues if all(one in each for each in others)]

    @property
    def seconds(self) -> int:
        return self.first.seconds + SECONDS_A_CHILD * (len(self.findings) - 1)


def labels_for_all(finding: Finding) -> list[str]:
    return [each.for_all for each in finding.actions if each.for_all]


def are_alike(findings: Sequence[Finding]) -> bool:
    """Whether they may be answered together."""
    return len({_key(each) for each in findings}) == 1 and all(each.alike for each in findings)


def rows_of(findings: Iterable[Finding]) -> list[Row]:
    """In the order in which the most urgent of each comes. What was handed on stands alone."""
    found: dict[object, list[Finding]] = {}
    for each in findings:
        alone = not each.alike or each.handed
        key = (each.who.child.pk, each.key) if alone else _key(each)
        found.setdefault(key, []).append(each)
    return [row for those in found.values() for row in _one_each(those)]


def _one_each(findings: Sequence[Finding]) -> list[Row]:
    """A child that has two alike, as of two blocks, stands in two rows."""
    rows: list[dict[int, Finding]] = []
    for each in findings:
        child = each.who.child.pk
        row = next((one for one in rows if child not in one), None)
        if row is None:
            rows.append(row := {})
        row[child] = each
    return [Row(tuple(sorted(each.values(), key=_by_name))) for each in rows]


def _by_name(finding: Finding) -> tuple[str, str, int]:
    child = finding.who.child
    return child.given_name, child.family_initial, child.pk


def _key(finding: Finding) -> tuple[object, ...]:
    return finding.kind, finding.alike, finding.url_for_all, tuple(labels_for_all(finding))
