"""Fitting a written session to children: fit, between the database and the engine.

The builder's counts, the who-gets-what table and publishing all come through here.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from athletes.models import Child
from program.common.library_snapshot import LibrarySnapshot, library_snapshot
from program.engine.fit.aim import Rule
from program.engine.fit.asking_more import AsksMore
from program.engine.fit.fitting import Fitted, Outcome, WrittenSlot, asks_more, fit_cohort
from program.engine.fit.limits import FitChild
from program.engine.fit.options import (
    Option,
    fitted_without_word,
    option_for,
    options_for,
    suggestions_for,
)
from program.fit.child_facts import circumstances_over
from program.models import Session, Slot


@dataclass(frozen=True)
class FittedSession:
    """A written session fitted to some children: by child, in slot order, with what was known
    of each."""

    session: Session
    slots: tuple[Slot, ...]
    by_child: Mapping[int, tuple[Fitted, ...]]
    circumstances: Mapping[int, FitChild]
    library: LibrarySnapshot

    @property
    def written(self) -> list[WrittenSlot]:
        return [_written(slot) for slot in self.slots]

    @cached_property
    def asks_more(self) -> dict[int, tuple[AsksMore | None, ...]]:
        """By child, in slot order, what comes in the place of what is written and asks more."""
        written, library = self.written, self.library.fit
        return {
            child: tuple(
                asks_more(slot, each, library) for slot, each in zip(written, filled, strict=True)
            )
            for child, filled in self.by_child.items()
        }

    def goes_out_to(self, child: Child) -> bool:
        """Whether publishing sends it to the child: not while a slot is the coach's to decide,
        unless the coach has said that the rest goes out, nor when nothing is left to do."""
        filled = self.by_child[child.pk]
        waits = any(each.outcome is Outcome.COACH_DECIDES for each in filled)
        has_something = any(each.given for each in filled)
        return has_something and (self.session.goes_out_incomplete or not waits)

    def options(self, slot: Slot, child: Child) -> tuple[Option, ...]:
        """What a coach can choose for a child in one slot, as `options_for` has it."""
        known = self.circumstances[child.pk]
        return options_for(self.written, self.slots.index(slot), known, self.library.fit)

    def suggestions(self, slot: Slot, child: Child) -> Iterator[Option]:
        """What may be proposed, the nearest first, as `suggestions_for` has it."""
        known = self.circumstances[child.pk]
        return suggestions_for(self.written, self.slots.index(slot), known, self.library.fit)

    def option(self, slot: Slot, child: Child, exercise: str) -> Option:
        known = self.circumstances[child.pk]
        return option_for(self.written, self.slots.index(slot), known, self.library.fit, exercise)

    def without_word(self, slot: Slot, child: Child) -> tuple[Fitted, ...]:
        """What a child gets as long as the coach has said nothing about one slot."""
        known = self.circumstances[child.pk]
        return fitted_without_word(self.written, self.slots.index(slot), known, self.library.fit)


def fit(session: Session, children: Collection[Child]) -> FittedSession:
    """Fit a session, fetched `with_plan()`, to these children."""
    (fitted,) = fit_over([session], children)
    return fitted


def fit_over(sessions: Sequence[Session], children: Collection[Child]) -> list[FittedSession]:
    """Fit some sessions of one cohort to these children, in as many queries as one of them."""
    library = library_snapshot()
    return [
        _fitted(session, known, library)
        for session, known in zip(
            sessions, circumstances_over(children, sessions, library.fit), strict=True
        )
    ]


def _fitted(session: Session, known: Sequence[FitChild], library: LibrarySnapshot) -> FittedSession:
    slots = tuple(session.all_slots())
    fitted = fit_cohort([_written(slot) for slot in slots], known, library.fit)
    return FittedSession(
        session,
        slots,
        {int(key): each for key, each in fitted.items()},
        {int(each.key): each for each in known},
        library,
    )


def _written(slot: Slot) -> WrittenSlot:
    return WrittenSlot(
        key=str(slot.pk),
        exercise=slot.exercise.slug,
        prescription=slot.prescription,
        rounds=slot.part.rounds,
        rule=Rule(slot.rule),
        max_steps_up=slot.max_steps_up,
    )
