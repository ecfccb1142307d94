"""How long a session lasts for one child, before it is written down.

Once it is, an assigned session is asked through `program.common.session_plan` like a written one.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby

from program.common.session_plan import Plan, PlannedPart, PlannedSlot, dose_of
from program.engine.pace import Pace
from program.engine.timeline import PartKind
from program.fit.choices import Chosen


def chosen_seconds(chosen: Sequence[Chosen], pace: Pace) -> int:
    """The seconds of what was chosen for a child, in the session's order; 0 for nothing.

    Raises ValueError, in words a coach can act on, for a dose nobody could do.
    """
    return Plan(tuple(_parts(chosen)), pace).seconds


def _parts(chosen: Sequence[Chosen]) -> Iterator[PlannedPart]:
    for part, group in groupby(chosen, key=lambda each: each.slot.part):
        yield PlannedPart(
            f"part-{part.position}",
            part.name,
            PartKind(part.kind),
            part.rounds,
            part.rest_seconds,
            tuple(_slot(each) for each in group),
        )


def _slot(each: Chosen) -> PlannedSlot:
    dose = dose_of(each.revision, each.amount, each.tempo)
    return PlannedSlot(f"slot-{each.slot.pk}", each.revision, each.slot.rest_seconds, dose)
