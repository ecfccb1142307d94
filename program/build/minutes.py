"""A written session brought to a number of minutes: the engine's proposal in words, and taken."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from program.common.edit_conflicts import write
from program.common.session_plan import Plan, amounts_of
from program.engine.dose.dose import Dose, in_words
from program.engine.shorten import Change, Lever, Proposal, brought_to
from program.engine.wording import clock, plural
from program.models import Part, Session, Slot

LEAST_MINUTES, MOST_MINUTES = 1, 120


@dataclass(frozen=True)
class Line:
    """One change of a proposal, in words; `gained` is the time, as "−0:30"."""

    name: str
    before: str
    after: str
    gained: str


@dataclass(frozen=True)
class Proposed:
    """How a session would come to `minutes`."""

    minutes: int
    plan: Plan
    version: int

    @cached_property
    def proposal(self) -> Proposal:
        ranges = {
            slot.key: amounts_of(slot.revision)
            for part in self.plan.parts
            for slot in part.slots
            if slot.revision
        }
        parts = [part.timed() for part in self.plan.parts]
        return brought_to(parts, ranges, self.minutes * 60, self.plan.pace)

    @property
    def lines(self) -> list[Line]:
        return list(self._lines())

    @property
    def before(self) -> str:
        return clock(self.proposal.seconds_before)

    @property
    def after(self) -> str:
        return clock(self.proposal.seconds_after)

    @property
    def as_far(self) -> str:
        """What the session cannot become more of."""
        return "short" if self.proposal.seconds_before > self.minutes * 60 else "long"

    def _lines(self) -> Iterator[Line]:
        doses = {slot.key: slot.dose for part in self.plan.parts for slot in part.slots}
        for each in self.proposal.changes:
            before, after = (
                _said(each, value, doses.get(each.key)) for value in (each.before, each.after)
            )
            yield Line(each.name, before, after, _gained(each.seconds))


def _said(change: Change, value: int, dose: Dose | None) -> str:
    match change.lever:
        case Lever.ROUNDS:
            return plural(value, "round")
        case Lever.REST:
            return f"rest {value} s"
        case Lever.BREATHER:
            return f"rest after it {value} s"
        case Lever.DOSE:
            return in_words(replace(dose, amount=value)) if dose else str(value)


def _gained(seconds: int) -> str:
    return f"{'−' if seconds < 0 else '+'}{clock(abs(seconds))}"


_FIELDS = {
    Lever.ROUNDS: "rounds",
    Lever.REST: "rest_seconds",
    Lever.DOSE: "amount",
    Lever.BREATHER: "rest_seconds",
}


def take(session: Session, proposal: Proposal) -> None:
    """Write what is proposed. Within `editing`; `session` comes with parts and slots."""
    rows: dict[str, Part | Slot] = {f"part-{part.pk}": part for part in session.parts.all()}
    rows |= {f"slot-{slot.pk}": slot for slot in session.all_slots()}
    changes: dict[str, dict[str, int]] = {}
    for each in proposal.changes:
        changes.setdefault(each.key, {})[_FIELDS[each.lever]] = each.after
    for key, changed in changes.items():
        write(rows[key], changed)
