"""What a coach can choose by hand for one child in one slot, and what speaks against it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from library.graph import PathwayGraph
from program.engine.fit.fitting import Fitted, Outcome, WrittenSlot, fit_session
from program.engine.fit.library import FitExercise, FitLibrary
from program.engine.fit.likeness import Near, near, unlikeness
from program.engine.fit.limits import FitChild, HardLimits
from program.engine.fit.reasons import Reason, ReasonCode


@dataclass(frozen=True, slots=True)
class Option:
    """An exercise in one slot by the coach's word, and what the child's `session` becomes by it.

    `broken` are the hard limits in the way; () may be chosen. `cautions` are why fit would not have
    given it by itself. `undone` are the reasons for which a slot that fit could fill is then left
    to the coach. `near` is how near it is to what it replaces.
    """

    exercise: FitExercise
    session: tuple[Fitted, ...]
    broken: tuple[Reason, ...]
    cautions: tuple[Reason, ...]
    undone: tuple[Reason, ...]
    near: Near

    @property
    def is_safe(self) -> bool:
        """Whether nothing at all speaks against it, as far as fit can tell."""
        return not (self.broken or self.cautions or self.undone)


def options_for(
    slots: Sequence[WrittenSlot], place: int, child: FitChild, library: FitLibrary
) -> tuple[Option, ...]:
    """All exercises in use for the slot at that place: those on the pathway of what fit gives, the
    nearest to it first, then the rest, the likest first."""
    choosing = _Choosing.of(slots, place, child, library)
    return tuple(
        choosing.option(exercise)
        for exercise in sorted(library.exercises, key=choosing.order)
        if exercise.is_available
    )


def suggestions_for(
    slots: Sequence[WrittenSlot], place: int, child: FitChild, library: FitLibrary
) -> Iterator[Option]:
    """Of these, in the same order, what nothing speaks against, nobody lands in and is not harder:
    what may be proposed without a coach's having looked at each."""
    choosing, limits = _Choosing.of(slots, place, child, library), HardLimits(child)
    for exercise in sorted(library.exercises, key=choosing.order):
        if exercise.is_available and not exercise.lands and not limits.broken_by(exercise):
            option = choosing.option(exercise)
            if option.is_safe and option.near is not Near.HARDER:
                yield option


def option_for(
    slots: Sequence[WrittenSlot], place: int, child: FitChild, library: FitLibrary, exercise: str
) -> Option:
    return _Choosing.of(slots, place, child, library).option(library.by_slug[exercise])


def fitted_without_word(
    slots: Sequence[WrittenSlot], place: int, child: FitChild, library: FitLibrary
) -> tuple[Fitted, ...]:
    """What the child gets as long as the coach has said nothing about the slot at that place."""
    key = slots[place].key
    silent = replace(
        child,
        overrides={at: word for at, word in child.overrides.items() if at != key},
        where_nothing_fits={at: w for at, w in child.where_nothing_fits.items() if at != key},
    )
    return fit_session(slots, silent, library)


@dataclass(frozen=True)
class _Choosing:
    slots: Sequence[WrittenSlot]
    place: int
    child: FitChild
    library: FitLibrary
    by_itself: tuple[Fitted, ...]
    target: FitExercise | None
    graph: PathwayGraph | None
    nearest: dict[str, int]

    @classmethod
    def of(
        cls, slots: Sequence[WrittenSlot], place: int, child: FitChild, library: FitLibrary
    ) -> "_Choosing":
        by_itself = fitted_without_word(slots, place, child, library)
        given = by_itself[place].given
        target = given.exercise if given else slots[place].exercise
        pathway = library.pathway_of(target, child.placements)
        graph = library.graphs.get(pathway.slug) if pathway else None
        order = graph.nearest(target) if graph else (target,)
        nearest = {slug: at for at, slug in enumerate(order)}
        replaced = library.by_slug.get(target)
        return cls(slots, place, child, library, by_itself, replaced, graph, nearest)

    def order(self, exercise: FitExercise) -> tuple[int, float, str]:
        unlike = unlikeness(self.target, exercise) if self.target else 0
        return self.nearest.get(exercise.slug, len(self.nearest)), unlike, exercise.name

    def option(self, exercise: FitExercise) -> Option:
        overrides = {**self.child.overrides, self.slots[self.place].key: exercise.slug}
        session = fit_session(self.slots, replace(self.child, overrides=overrides), self.library)
        return Option(
            exercise,
            session,
            _in_the_way(session[self.place]),
            self._cautions(exercise.slug),
            self._undone(session),
            near(self.target, exercise, self.graph) if self.target else Near.ANOTHER_KIND,
        )

    def _cautions(self, slug: str) -> tuple[Reason, ...]:
        name, cautions = self.library.names[slug], []
        pathway = self.library.pathway_of(slug, self.child.placements)
        graph = self.library.graphs.get(pathway.slug) if pathway else None
        placement = self.child.placements.get(graph.slug, "") if graph else ""
        if graph and placement in graph and slug not in graph.within_reach(placement):
            cautions.append(Reason(ReasonCode.BEYOND_PLACEMENT, exercise=name))
        written = self.slots[self.place].exercise
        is_harder = graph and written in graph and slug in graph.harder_than(written)
        if self.child.in_growth_spurt and is_harder:
            cautions.append(Reason(ReasonCode.GROWTH_SPURT))
        if is_harder and graph and graph.slug in self.child.not_seen:
            cautions.append(Reason(ReasonCode.PLACEMENT_NOT_SEEN))
        if is_harder and HardLimits(self.child).spares_place_of(self.library.by_slug[slug]):
            cautions.append(Reason(ReasonCode.PLACE_IS_SPARED))
        return tuple(cautions)

    def _undone(self, session: tuple[Fitted, ...]) -> tuple[Reason, ...]:
        return tuple(
            now.reasons[0]
            for place, (before, now) in enumerate(zip(self.by_itself, session, strict=True))
            if place != self.place
            and now.outcome is Outcome.COACH_DECIDES
            and before.outcome is not Outcome.COACH_DECIDES
        )


def _in_the_way(fitted: Fitted) -> tuple[Reason, ...]:
    """The limits that keep a choice from being given."""
    if fitted.outcome is not Outcome.COACH_DECIDES:
        return ()
    said = (ReasonCode.CHOICE_NOT_SAFE, ReasonCode.KIT_NOT_TOLD)
    return tuple(reason for reason in fitted.reasons if reason.code not in said)
