"""Choosing what each child gets for a written session: as written, for everybody."""

from collections.abc import Iterable

from athletes.models import Child
from program.chosen import Chosen, ChosenSession
from program.models import Session


def choose_for(session: Session, children: Iterable[Child]) -> list[ChosenSession]:
    """What each of these children gets; `session` is fetched `with_plan()`."""
    as_written = [
        Chosen(slot, slot.exercise.current, slot.amount, slot.tempo)
        for part in session.parts.all()
        for slot in part.slots.all()
        if slot.exercise.current
    ]
    return [ChosenSession(child.pk, as_written) for child in children]
