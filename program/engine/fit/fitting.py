"""Fit: one written session, the right version for each child.

The coach writes an exercise and a dose. What a child gets in its place is decided here, for the
builder, the who-gets-what table and publishing alike. The order in which the rules speak is told
once, at `fit_session`.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from typing import Final, NamedTuple

from library.graph import Direction, PathwayGraph
from library.landing import ContactClass
from program.engine.contact_ceilings import class_ceiling
from program.engine.dose.dose import Dose
from program.engine.dose.transfer import transfer
from program.engine.fit.aim import Aim, Rule, aim
from program.engine.fit.asking_more import AsksMore
from program.engine.fit.library import FitExercise, FitLibrary, FitPathway
from program.engine.fit.limits import (
    RETURN_SHARES,
    ComingBack,
    FitChild,
    HardLimits,
    ReturnStep,
)
from program.engine.fit.reasons import Reason, ReasonCode
from program.engine.prescription import Prescription


class Outcome(StrEnum):
    """What became of a slot for one child, seen from the written exercise.

    OTHER is a lateral or another branch. COACH_DECIDES has no exercise yet and keeps the session
    from being published to this child. LEFT_OUT has none because the coach said so.
    """

    AS_WRITTEN = "as_written"
    EASIER = "easier"
    HARDER = "harder"
    OTHER = "other"
    COACH_CHOICE = "coach_choice"
    LEFT_OUT = "left_out"
    COACH_DECIDES = "coach_decides"


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenSlot:
    """A slot as the coach wrote it.

    `rounds` are the part's. `max_steps_up` limits MEET_PLACEMENT alone. Keys differ.
    """

    key: str
    exercise: str
    prescription: Prescription
    rounds: int = 1
    rule: Rule = Rule.EASIER_WHERE_NEEDED
    max_steps_up: int = 1


class Given(NamedTuple):
    """An exercise, by slug, and the dose of one round of it."""

    exercise: str
    dose: Dose


@dataclass(frozen=True, slots=True)
class Fitted:
    """What one child gets in one slot, and why.

    `given` is None where the coach has to decide or has left the slot out. `easier` is a regression
    that breaks no limit and costs no more ground contacts, so that it may always be done instead;
    None where there is none. There is at least one reason, the decisive one first.
    """

    slot_key: str
    outcome: Outcome
    given: Given | None
    easier: Given | None
    reasons: tuple[Reason, ...]


def fit_cohort(
    slots: Iterable[WrittenSlot], children: Iterable[FitChild], library: FitLibrary
) -> dict[str, tuple[Fitted, ...]]:
    """What each child of a cohort gets, by the child's key: `fit_session` for everyone."""
    slots = tuple(slots)
    return {child.key: fit_session(slots, child, library) for child in children}


def fit_session(
    slots: Iterable[WrittenSlot], child: FitChild, library: FitLibrary
) -> tuple[Fitted, ...]:
    """What a child gets in each slot of a session, in order. The same input, the same answer.

    For every slot, the first of these that has something to say decides:

    1. Hard limits are never broken, by any rule or by the coach: an exercise in use; no restriction
       in force against it; old enough for it; every need met; and the session's ground contacts,
       counted over the slots in order with their rounds, within what the child's other sessions
       of that day leave of its ceiling and of its ceiling for how hard they are. Those have what
       they have: what is fitted takes the rest.
    2. The coach's word for this child, if it breaks no hard limit. If it does, the coach decides.
    3. The rule sets a target. AS_WRITTEN: the written exercise. EASIER_WHERE_NEEDED: the same, or
       the placement where the written exercise is harder. MEET_PLACEMENT: the placement, or if
       that is too far up, the exercise on the way to it which is as far up as allowed. In a growth
       spurt no step up is allowed, nor to what works a place that is spared, however mildly, nor
       to a placement that nobody has seen.
       Without a placement it is the written exercise.
    4. Never harder than the placement, the target itself under AS_WRITTEN excepted; and never
       harder than written, or under MEET_PLACEMENT than the steps up allow.
    5. Of what is left, the nearest to the target; at one distance the easier, then the lateral,
       then the rest by rank (`PathwayGraph.nearest`); of those that are equal in this, one that
       asks no more than what is written (`asks_more`), by slug.
    6. What would be found if nothing had hurt may work a place that is on its way back, at the
       step of easier exercises: then it is the nearest easier one that breaks no limit. By the
       coach's word, or where there is none, it is half of what is found.
    7. If nothing is left, what the coach has said to do where nothing fits, if it breaks no hard
       limit; or, where all that is in the way is something missing without which the coach leaves
       things out for this child, nothing.
    8. Else the coach decides. Nothing is dropped silently.

    What is given is dosed as written, moved to it by `transfer`; where it works a place on its way
    back at half the dose, or in a lighter week, so much of it, at least 1. Where the coach lets
    this child do more of it, so much more, within the exercise's range and the contacts left, and
    not in a growth spurt nor with a place that is spared or on its way back.

    A child who is held back, or rests, gets nothing by any rule: every slot is the coach's.

    An exercise on several pathways is fitted on the one `FitLibrary.pathway_of` names. On no
    pathway, or on one that contradicts itself, it stays as written or the coach decides.
    """
    limits = HardLimits(child)
    landed: dict[ContactClass, float] = defaultdict(float)
    fitted = []
    for slot in slots:
        case = _Case(slot, child, library, limits, landed)
        answer = _fit(case)
        if answer.given and (contacts := case.contacts(answer.given.dose)):
            landed[library.by_slug[answer.given.exercise].class_counted] += contacts
        fitted.append(answer)
    return tuple(fitted)


def asks_more(slot: WrittenSlot, fitted: Fitted, library: FitLibrary) -> AsksMore | None:
    """What another exercise than the written one asks more in its slot; None where it is the same
    one, where it asks no more, or where nothing is given."""
    if fitted.given is None or fitted.given.exercise == slot.exercise:
        return None
    written = library.by_slug.get(slot.exercise)
    if written is None:
        return None
    try:
        asked = written.dose_of(slot.prescription)
    except ValueError:
        return None
    given = library.by_slug[fitted.given.exercise]
    more = AsksMore.between(written, asked, given, fitted.given.dose, slot.rounds)
    return more if more.is_any else None


@dataclass(frozen=True)
class _Case:
    """One slot for one child, with the ground contacts of earlier slots by how hard they are.
    `instead_of_easier` is the way back for which something easier was looked for in vain."""

    slot: WrittenSlot
    child: FitChild
    library: FitLibrary
    limits: HardLimits
    landed: Mapping[ContactClass, float]
    instead_of_easier: ComingBack | None = None

    @property
    def as_if_well(self) -> "_Case":
        """The same, had nothing hurt."""
        well = replace(self.child, coming_back=())
        return replace(self, child=well, limits=HardLimits(well))

    @cached_property
    def written(self) -> FitExercise | None:
        return self.library.by_slug.get(self.slot.exercise)

    @cached_property
    def written_dose(self) -> Dose | ValueError | None:
        """What the coach asked for; an error where it is no amount of an exercise in use today."""
        if self.written is None:
            return None
        try:
            return self.written.dose_of(self.slot.prescription)
        except ValueError as error:
            return error

    def dose(self, exercise: FitExercise) -> Dose:
        """What a child gets of an exercise: as written, less on the way back, or what the coach
        lets it do more."""
        as_written = self.dose_as_written(exercise)
        if less := self.less_for(exercise):
            share = RETURN_SHARES[less.step]
            # 5 × 0.6 is a hair under 3 in binary: that hair is not worth a repetition.
            amount = max(1, math.floor(round(as_written.amount * share, 6)))
            return exercise.dose(amount, as_written.tempo)
        more = self.child.more.get(exercise.slug, 0)
        if not more or self.child.in_growth_spurt or self.limits.spares_place_of(exercise):
            return as_written
        amount = max(as_written.amount, min(as_written.amount + more, exercise.amounts.high))
        larger = exercise.dose(amount, as_written.tempo)
        return as_written if self._too_many(exercise, larger) else larger

    def less_for(self, exercise: FitExercise) -> ComingBack | None:
        """The way back for which less of it is done; None where all of it is."""
        least = filter(None, (self.limits.less_for(exercise), self.instead_of_easier))
        return min(least, key=lambda each: RETURN_SHARES[each.step], default=None)

    def dose_as_written(self, exercise: FitExercise) -> Dose:
        """The written dose, moved to an exercise; its usual one where there is none to move."""
        if not isinstance(self.written_dose, Dose):
            return exercise.dose(exercise.amounts.usual)
        if exercise is self.written:
            return self.written_dose
        return transfer(self.written_dose, exercise)

    def contacts(self, dose: Dose) -> float:
        """The ground contacts of all rounds, without the hair that binary fractions add."""
        return round(dose.ground_contacts * self.slot.rounds, 6)

    def asks_more(self, slug: str) -> bool:
        """Whether an exercise would ask more in this slot than the written one."""
        if self.written is None or not isinstance(self.written_dose, Dose):
            return False
        given, rounds = self.library.by_slug[slug], self.slot.rounds
        return AsksMore.between(
            self.written, self.written_dose, given, self.dose(given), rounds
        ).is_any

    def broken_by(self, slug: str) -> tuple[Reason, ...]:
        """The hard limits that an exercise would break in this slot."""
        exercise = self.library.by_slug.get(slug)
        if exercise is None:
            return (Reason(ReasonCode.UNKNOWN_EXERCISE),)
        return (*self.limits.broken_by(exercise), *self._too_many_contacts(exercise))

    def _too_many_contacts(self, exercise: FitExercise) -> tuple[Reason, ...]:
        if not exercise.lands:
            return ()
        return self._too_many(exercise, self.dose(exercise))

    def _too_many(self, exercise: FitExercise, dose: Dose) -> tuple[Reason, ...]:
        contacts = self.contacts(dose)
        left = round(self.limits.contacts_left - sum(self.landed.values()), 6)
        over = contacts - left
        if over <= 0:
            return self._too_hard(exercise, contacts)
        elsewhere, ceiling = self.child.contacts_elsewhere, self.limits.contact_ceiling
        if round(over - min(elsewhere, ceiling), 6) <= 0:
            return (
                Reason(
                    code=ReasonCode.LANDS_ELSEWHERE,
                    exercise=exercise.name,
                    number=round(elsewhere),
                    detail=str(ceiling),
                ),
            )
        return (
            Reason(
                code=ReasonCode.TOO_MANY_CONTACTS,
                exercise=exercise.name,
                number=self.limits.contact_ceiling,
            ),
        )

    def _too_hard(self, exercise: FitExercise, contacts: float) -> tuple[Reason, ...]:
        how_hard = exercise.class_counted
        left = self.limits.left_of(how_hard) - self.landed.get(how_hard, 0)
        if contacts <= round(left, 6):
            return ()
        return (
            Reason(
                code=ReasonCode.TOO_HARD_LANDINGS,
                exercise=exercise.name,
                number=class_ceiling(self.limits.contact_ceiling, how_hard),
                detail=how_hard.label,
            ),
        )

    def left_out_for_lack_of(self) -> tuple[Reason, ...]:
        """What is missing for the written exercise, where that is all that is in its way and the
        coach leaves out for this child whatever needs it; () where it is not."""
        if self.written is None:
            return ()
        needs = {need.what: need.items for need in self.limits.lacking(self.written)}
        broken = self.broken_by(self.slot.exercise)
        covered = (
            any(needs[reason.need] <= lacking for lacking in self.child.left_out_lacking)
            for reason in broken
            if reason.code is ReasonCode.NEED_UNMET
        )
        is_all = all(reason.code is ReasonCode.NEED_UNMET for reason in broken)
        return broken if is_all and all(covered) else ()

    def spares_place_of(self, slug: str) -> bool:
        exercise = self.library.by_slug.get(slug)
        return exercise is not None and self.limits.spares_place_of(exercise)

    def easier_for(self, slug: str) -> ComingBack | None:
        """The way back for which something easier is to be done in its place; None for none."""
        exercise = self.library.by_slug.get(slug)
        return self.limits.easier_for(exercise) if exercise else None

    def give(self, slug: str) -> Given:
        return Given(slug, self.dose(self.library.by_slug[slug]))

    def is_in_use(self, slug: str) -> bool:
        exercise = self.library.by_slug.get(slug)
        return exercise is not None and exercise.is_available

    def name(self, slug: str) -> str:
        """A slug is all there is to say of an exercise that is not in the library."""
        return self.library.names.get(slug, slug)


def _fit(case: _Case) -> Fitted:
    if case.limits.held_back:
        return Fitted(case.slot.key, Outcome.COACH_DECIDES, None, None, case.limits.held_back)
    if case.slot.key in case.child.overrides:
        return _coachs_word(case, case.child.overrides[case.slot.key])
    found = _fit_by_rule(case)
    return _as_said_before(case, found) if found.outcome is Outcome.COACH_DECIDES else found


def _as_said_before(case: _Case, nothing: Fitted) -> Fitted:
    """What the coach has said to do where nothing fits; the coach decides where that is not it."""
    if case.slot.key in case.child.where_nothing_fits:
        return _coachs_word(case, case.child.where_nothing_fits[case.slot.key])
    lacking = case.left_out_for_lack_of()
    if not lacking:
        return nothing
    left_out = Reason(ReasonCode.LEFT_OUT, exercise=case.name(case.slot.exercise))
    return Fitted(case.slot.key, Outcome.LEFT_OUT, None, None, (left_out, *lacking))


def _fit_by_rule(case: _Case) -> Fitted:
    if case.written is None:
        return _coach_decides(case, Reason(ReasonCode.UNKNOWN_EXERCISE))
    if isinstance(case.written_dose, ValueError):
        return _coach_decides(
            case, Reason(ReasonCode.IMPOSSIBLE_AMOUNT, detail=str(case.written_dose))
        )
    pathway = case.library.pathway_of(case.slot.exercise, case.child.placements)
    if pathway is None:
        return _stay(case, Reason(ReasonCode.NO_PATHWAY, exercise=case.written.name))
    if pathway.slug in case.library.contradictions:
        return _fit_on_contradiction(case, pathway)
    return _fit_on_pathway(case, pathway, case.library.graphs[pathway.slug])


def _coachs_word(case: _Case, chosen: str | None) -> Fitted:
    if chosen is None:
        left_out = Reason(ReasonCode.LEFT_OUT, exercise=case.name(case.slot.exercise))
        return Fitted(case.slot.key, Outcome.LEFT_OUT, None, None, (left_out,))
    if broken := case.broken_by(chosen):
        not_safe = Reason(ReasonCode.CHOICE_NOT_SAFE, exercise=case.name(chosen))
        return _coach_decides(case, not_safe, *broken)
    pathway = case.library.pathway_of(chosen, case.child.placements)
    graph = case.library.graphs.get(pathway.slug) if pathway else None
    case = _at_half_where_easier_is_due(case, chosen)
    chose = Reason(ReasonCode.COACH_CHOSE, exercise=case.name(chosen))
    return _give(case, Outcome.COACH_CHOICE, chosen, graph, chose)


def _fit_on_pathway(case: _Case, pathway: FitPathway, graph: PathwayGraph) -> Fitted:
    written = case.slot.exercise
    placement, notes = _placement(case, pathway, graph)
    aimed = aim(
        graph,
        written,
        placement,
        case.slot.rule,
        max_steps_up=case.slot.max_steps_up,
        nothing_harder=_nothing_harder(case, graph),
    )
    if fitted := _easier_on_the_way_back(case, graph, aimed, notes):
        return fitted
    chosen = _nearest_allowed(case, graph, aimed)
    reasons = _reasons(case, aimed, chosen)
    if chosen is None:
        nothing = Reason(ReasonCode.NOTHING_ALLOWED, pathway=pathway.name)
        return _coach_decides(case, *reasons, nothing, *notes)
    case = _at_half_where_easier_is_due(case, chosen)
    outcome = _OUTCOMES[graph.direction(chosen, seen_from=written)]
    return _give(case, outcome, chosen, graph, *reasons, *notes)


def _easier_on_the_way_back(
    case: _Case, graph: PathwayGraph, aimed: Aim, notes: tuple[Reason, ...]
) -> Fitted | None:
    """Something easier than the child would get if nothing had hurt; None where that does not work
    the place, or there is nothing easier."""
    if not case.limits.has_easier_steps:
        return None
    well = case.as_if_well
    usual = _nearest_allowed(well, graph, aimed)
    due = case.easier_for(usual) if usual else None
    easier = _nearest_easier(case, graph, usual) if usual and due else None
    if due is None or easier is None:
        return None
    why = Reason(
        ReasonCode.COMING_BACK_EASIER,
        instead=case.name(easier),
        region=due.region,
        side=due.side,
    )
    outcome = _OUTCOMES[graph.direction(easier, seen_from=case.slot.exercise)]
    reasons = _without_what_came_of_it(_reasons(well, aimed, usual))
    return _give(case, outcome, easier, graph, why, *reasons, *notes)


def _nearest_easier(case: _Case, graph: PathwayGraph, slug: str) -> str | None:
    """The nearest that is easier and breaks no limit."""
    return _nearest_allowed(case, graph, Aim(slug, graph.easier_than(slug)))


def _at_half_where_easier_is_due(case: _Case, slug: str) -> _Case:
    due = case.easier_for(slug)
    return replace(case, instead_of_easier=due._replace(step=ReturnStep.HALF)) if due else case


def _without_what_came_of_it(reasons: tuple[Reason, ...]) -> tuple[Reason, ...]:
    """Why it would have been another exercise, if nothing had hurt."""
    told = (each for each in reasons if each.code is not ReasonCode.AS_WRITTEN)
    return tuple(each._replace(instead="") for each in told)


def _nothing_harder(case: _Case, graph: PathwayGraph) -> ReasonCode | None:
    """Why this child gets no step up here; None where it may."""
    if case.child.in_growth_spurt:
        return ReasonCode.GROWTH_SPURT
    if case.limits.is_lighter_week:
        return ReasonCode.LIGHTER_WEEK
    steps_up = graph.harder_than(case.slot.exercise)
    if any(case.spares_place_of(slug) for slug in steps_up):
        return ReasonCode.PLACE_IS_SPARED
    if graph.slug in case.child.not_seen:
        return ReasonCode.PLACEMENT_NOT_SEEN
    return None


_OUTCOMES: Final[Mapping[Direction, Outcome]] = {
    Direction.SAME: Outcome.AS_WRITTEN,
    Direction.EASIER: Outcome.EASIER,
    Direction.BESIDE: Outcome.OTHER,
    Direction.APART: Outcome.OTHER,
    Direction.HARDER: Outcome.HARDER,
}


def _fit_on_contradiction(case: _Case, pathway: FitPathway) -> Fitted:
    """Nothing says what is easier here: a child placed elsewhere may not be ready for this."""
    contradiction = Reason(
        code=ReasonCode.PATHWAY_CONTRADICTS_ITSELF,
        exercise=case.name(case.slot.exercise),
        pathway=pathway.name,
        detail=case.library.contradictions[pathway.slug].in_words(case.library.names),
    )
    placement = case.child.placements.get(pathway.slug, case.slot.exercise)
    if case.slot.rule is Rule.AS_WRITTEN or placement == case.slot.exercise:
        return _stay(case, contradiction)
    return _coach_decides(case, contradiction)


def _stay(case: _Case, note: Reason) -> Fitted:
    """The written exercise, where nothing can take its place."""
    case = _at_half_where_easier_is_due(case, case.slot.exercise)
    if broken := case.broken_by(case.slot.exercise):
        return _coach_decides(case, *broken, note)
    return _give(case, Outcome.AS_WRITTEN, case.slot.exercise, None, _AS_WRITTEN, note)


def _placement(
    case: _Case, pathway: FitPathway, graph: PathwayGraph
) -> tuple[str | None, tuple[Reason, ...]]:
    """Where the child is placed, as far as that can be compared, and what is wrong with it."""
    placement = case.child.placements.get(pathway.slug)
    trouble = _trouble_with(placement, case, graph)
    comparable = placement if trouble in (None, ReasonCode.PLACEMENT_RETIRED) else None
    if trouble is None or case.slot.rule is Rule.AS_WRITTEN:
        return comparable, ()
    name = case.name(placement) if placement else ""
    return comparable, (Reason(trouble, exercise=name, pathway=pathway.name),)


def _trouble_with(placement: str | None, case: _Case, graph: PathwayGraph) -> ReasonCode | None:
    """A retired placement still says how far a child has come; the other troubles leave nothing."""
    if placement is None:
        return ReasonCode.NOT_PLACED
    if placement not in graph:
        return ReasonCode.PLACEMENT_OFF_PATHWAY
    if graph.distance(placement, case.slot.exercise) is None:
        return ReasonCode.PLACEMENT_UNJOINED
    if not case.is_in_use(placement):
        return ReasonCode.PLACEMENT_RETIRED
    return None


def _nearest_allowed(case: _Case, graph: PathwayGraph, aimed: Aim) -> str | None:
    for alike in graph.nearest_alike(aimed.target):
        allowed = [slug for slug in alike if slug in aimed.reach and not case.broken_by(slug)]
        if allowed:
            return min(allowed, key=case.asks_more) if len(allowed) > 1 else allowed[0]
    return None


_AS_WRITTEN: Final = Reason(ReasonCode.AS_WRITTEN)


def _reasons(case: _Case, aimed: Aim, chosen: str | None) -> tuple[Reason, ...]:
    """Why it is this exercise and no other, the decisive reasons first."""
    moved = _moved_by_rule(case, aimed.why)
    if chosen == aimed.target == case.slot.exercise:
        return moved or (_AS_WRITTEN,)
    if chosen == aimed.target:
        return _instead(case, moved, chosen)
    in_the_way = case.broken_by(aimed.target) or (
        Reason(ReasonCode.BEYOND_PLACEMENT, exercise=case.name(aimed.target)),
    )
    return (*_instead(case, in_the_way, chosen), *moved)


def _moved_by_rule(case: _Case, why: ReasonCode | None) -> tuple[Reason, ...]:
    if why is None:
        return ()
    limit = case.slot.max_steps_up if why is ReasonCode.STEPS_LIMITED else None
    return (Reason(why, exercise=case.name(case.slot.exercise), number=limit),)


def _instead(case: _Case, reasons: tuple[Reason, ...], chosen: str | None) -> tuple[Reason, ...]:
    instead = case.name(chosen) if chosen else ""
    return tuple(reason._replace(instead=instead) for reason in reasons)


def _give(
    case: _Case, outcome: Outcome, slug: str, graph: PathwayGraph | None, *reasons: Reason
) -> Fitted:
    given = case.give(slug)
    said = {each.code for each in reasons}
    less = (each for each in _less_than_written(case, given) if each.code not in said)
    reasons = (*reasons, *less, *_more_than_written(case, given))
    easier = _easier_option(case, given, graph) if graph else None
    return Fitted(case.slot.key, outcome, given, easier, _with_kit_note(case, reasons))


def _less_than_written(case: _Case, given: Given) -> tuple[Reason, ...]:
    less = case.less_for(case.library.by_slug[given.exercise])
    if less is None:
        return ()
    if less.step is ReturnStep.LIGHTER:
        return (Reason(ReasonCode.LIGHTER_WEEK),)
    return (Reason(ReasonCode.COMING_BACK_LESS, region=less.region, side=less.side),)


def _more_than_written(case: _Case, given: Given) -> tuple[Reason, ...]:
    as_written = case.dose_as_written(case.library.by_slug[given.exercise])
    more = given.dose.amount - as_written.amount
    if more <= 0:
        return ()
    unit = given.dose.measure.removesuffix("s") if more == 1 else given.dose.measure
    return (Reason(ReasonCode.MORE, number=more, detail=str(unit)),)


def _coach_decides(case: _Case, *reasons: Reason) -> Fitted:
    reasons = _with_kit_note(case, reasons)
    return Fitted(case.slot.key, Outcome.COACH_DECIDES, None, None, reasons)


def _with_kit_note(case: _Case, reasons: tuple[Reason, ...]) -> tuple[Reason, ...]:
    """What a family has not said may be all that is missing."""
    is_missing_something = any(reason.code is ReasonCode.NEED_UNMET for reason in reasons)
    if case.child.kit is None and is_missing_something:
        return (*reasons, Reason(ReasonCode.KIT_NOT_TOLD))
    return reasons


def _easier_option(case: _Case, given: Given, graph: PathwayGraph) -> Given | None:
    """A regression that may be done instead at any time: the nearest, if there is one.

    Under AS_WRITTEN, or by the coach's word, a child may have been given something beyond its
    placement. There the nearest to the placement is meant, and what is within its reach goes first.
    """
    easier = graph.easier_than(given.exercise)
    placement = case.child.placements.get(graph.slug, "")
    reach = graph.within_reach(placement) if placement in graph else easier
    allowed = (
        case.give(slug)
        for slug in graph.nearest(placement if placement in easier else given.exercise)
        if slug in easier and not case.broken_by(slug)
    )
    beyond_reach = None
    for option in allowed:
        if option.dose.ground_contacts > given.dose.ground_contacts:
            continue
        if option.exercise in reach:
            return option
        beyond_reach = beyond_reach or option
    return beyond_reach
