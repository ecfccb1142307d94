"""Choosing what each child gets for a written session: fit, between the database and the engine.

The builder's counts, the who-gets-what table and publishing all come through here.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from athletes.models import Child
from program.common.library_snapshot import LibrarySnapshot, library_snapshot
from program.engine.fit.aim import Rule
from program.engine.fit.fitting import Fitted, Outcome, WrittenSlot, fit_cohort
from program.engine.fit.limits import FitChild, HardLimits
from program.engine.fit.options import Option, fitted_without_word, option_for, options_for
from program.fit.child_facts import circumstances_over
from program.fit.choices import Chosen, ChosenSession
from program.models import Override, Session, Slot


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

    def options(self, slot: Slot, child: Child) -> tuple[Option, ...]:
        """What a coach can choose for a child in one slot, as `options_for` has it."""
        known = self.circumstances[child.pk]
        return options_for(self.written, self.slots.index(slot), known, self.library.fit)

    def option(self, slot: Slot, child: Child, exercise: str) -> Option:
        known = self.circumstances[child.pk]
        return option_for(self.written, self.slots.index(slot), known, self.library.fit, exercise)

    def without_word(self, slot: Slot, child: Child) -> tuple[Fitted, ...]:
        """What a child gets as long as the coach has said nothing about one slot."""
        known = self.circumstances[child.pk]
        return fitted_without_word(self.written, self.slots.index(slot), known, self.library.fit)

    def column(self, slot: Slot) -> dict[int, Fitted]:
        """What each child gets in one slot."""
        place = self.slots.index(slot)
        return {child: fitted[place] for child, fitted in self.by_child.items()}


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


def choose_for(session: Session, children: Collection[Child]) -> list[ChosenSession]:
    """What each of these children gets; `session` is fetched `with_plan()`."""
    fitted = fit(session, children)
    notes = _notes_to_families(session, children)
    return [
        ChosenSession(
            child.pk,
            list(chosen_of(fitted, fitted.by_child[child.pk], child, notes)),
            [
                slot
                for slot, each in zip(fitted.slots, fitted.by_child[child.pk], strict=True)
                if each.outcome is Outcome.COACH_DECIDES
            ],
            bool(HardLimits(fitted.circumstances[child.pk]).held_back),
        )
        for child in children
    ]


def _written(slot: Slot) -> WrittenSlot:
    return WrittenSlot(
        key=str(slot.pk),
        exercise=slot.exercise.slug,
        prescription=slot.prescription,
        rounds=slot.part.rounds,
        rule=Rule(slot.rule),
        max_steps_up=slot.max_steps_up,
    )


def chosen_of(
    fitted: FittedSession,
    filled: Sequence[Fitted],
    child: Child,
    notes: Mapping[tuple[int, int], str],
) -> Iterator[Chosen]:
    """The slots of a fitted session, filled so for one child."""
    for slot, each in zip(fitted.slots, filled, strict=True):
        if each.given is None:
            continue
        written, easier = slot.prescription, each.easier
        yield Chosen(
            slot=slot,
            revision=fitted.library.revisions[each.given.exercise],
            prescription=written.with_dose(each.given.dose),
            outcome=each.outcome,
            reasons=tuple(reason.to_json() for reason in each.reasons),
            note=notes.get((slot.pk, child.pk), ""),
            easier_revision=fitted.library.revisions[easier.exercise] if easier else None,
            easier=written.with_dose(easier.dose) if easier else None,
        )


def _notes_to_families(session: Session, children: Collection[Child]) -> dict[tuple[int, int], str]:
    rows = Override.objects.filter(child__in=children, slot__part__session=session)
    return {(slot, child): note for slot, child, note in rows.values_list("slot", "child", "note")}
