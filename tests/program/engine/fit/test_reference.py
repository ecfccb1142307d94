"""Fit against a slow and plain reading of its rules with networkx, and what must always hold."""

from dataclasses import replace

import networkx as nx
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from library.body import Region, RestrictionKind
from library.graph import PathwayGraph
from library.usual_home import USUAL_HOME_KIT
from program.engine.dose.transfer import transfer
from program.engine.fit.aim import Rule
from program.engine.fit.fitting import Outcome, fit_session
from program.engine.fit.limits import ReturnStep
from program.engine.fit.reasons import ReasonCode, for_coach, for_family
from tests.support.engine_fitting import ITEMS, sessions

SHARES = {"low": 1, "medium": 2 / 3, "high": 1 / 3, "one_leg": 1 / 2, "from_height": 1 / 4}
LEGS_SPINE_HEAD = set(Region) - {Region.SHOULDER, Region.ELBOW, Region.WRIST_HAND}


def lands(exercise):
    """By its number, or by its pattern, unless it says why nothing lands."""
    by_pattern = exercise.pattern in {"jump", "land", "skip"}
    return exercise.contacts > 0 or (by_pattern and not exercise.no_landing_because)


def contacts_or_moves(exercise, region):
    """Whether an exercise does anything with a region."""
    if region is None or region in exercise.loads | exercise.moves:
        return True
    return lands(exercise) and region in LEGS_SPINE_HEAD


def landings_of_one_set(exercise, dose):
    """Of a landing pattern that gives none, one a repetition and two a second or metre."""
    usual = 1 if exercise.measure == "repetitions" else 2
    each = exercise.contacts or (usual if lands(exercise) else 0)
    return each * dose.amount * (2 if exercise.sides == "each" else 1)


class Reference:
    """The rules once more, by enumeration: every exercise is asked, and nothing is remembered."""

    def __init__(self, library, slot, child, *, as_if_well=False):
        self.as_if_well = as_if_well
        self.library, self.slot, self.child = library, slot, child
        pathway = library.pathways[0]
        self.joined = nx.Graph([*pathway.steps, *pathway.laterals])
        sideways = nx.Graph(pathway.laterals)
        sideways.add_nodes_from(pathway.members)
        level = {one: frozenset(nx.node_connected_component(sideways, one)) for one in sideways}
        self.level = level
        self.up = nx.DiGraph((level[easier], level[harder]) for easier, harder in pathway.steps)
        self.up.add_nodes_from(level.values())
        self.written = slot.exercise
        self.on_pathway = self.written in pathway.members
        placement = child.placements.get(pathway.slug)
        joined = self.on_pathway and placement in self.joined
        self.placement = (
            placement if joined and nx.has_path(self.joined, placement, self.written) else None
        )

    def is_easier(self, one, than):
        start, end = self.level[one], self.level[than]
        return start != end and nx.has_path(self.up, start, end)

    def rank(self, one):
        below = self.up.subgraph(nx.ancestors(self.up, self.level[one]) | {self.level[one]})
        return nx.dag_longest_path_length(below)

    def steps_up(self, to):
        start, end = self.level[self.written], self.level[to]
        if nx.has_path(self.up, start, end):
            return nx.shortest_path_length(self.up, start, end)
        if nx.has_path(self.up, end, start):
            return 0
        return max(0, self.rank(to) - self.rank(self.written))

    def asks_no_more(self, one, than):
        """Easier, equal, or on another branch with all that leads to it already left behind."""
        if self.level[one] == self.level[than] or self.is_easier(one, than):
            return True
        if self.is_easier(than, one):
            return False
        regressions = [member for below in self.up.pred[self.level[one]] for member in below]
        return all(self.is_easier(regression, than) for regression in regressions)

    def breaks_a_limit(self, slug):
        exercise = next((one for one in self.library.exercises if one.slug == slug), None)
        if exercise is None or not exercise.is_available or self.child.age < exercise.minimum_age:
            return True
        kit = USUAL_HOME_KIT if self.child.kit is None else self.child.kit
        if any(not need.items & kit for need in exercise.needs):
            return True
        if any(self.is_restricted(exercise, one) for one in self.child.restrictions):
            return True
        if any(self.is_too_early(exercise, way) for way in self.child.coming_back):
            return True
        contacts = landings_of_one_set(exercise, self.dose(exercise)) * self.slot.rounds
        ceiling = self.child.contact_ceiling // (2 if self.child.in_growth_spurt else 1)
        elsewhere = self.child.elsewhere.values()
        in_all = contacts + sum(sum(each.values()) for each in elsewhere)
        how_hard = exercise.contact_class or "high"
        alike = contacts + sum(each.get(how_hard, 0) for each in elsewhere)
        return contacts > 0 and (in_all > ceiling or alike > ceiling * SHARES[how_hard] // 1)

    def is_restricted(self, exercise, restriction):
        region, kind = restriction.region, restriction.kind
        if region is None or exercise.slug in restriction.without:
            return True
        loads, moves = region in exercise.loads, region in exercise.moves
        if lands(exercise) and (region in LEGS_SPINE_HEAD or loads):
            return True
        if kind is RestrictionKind.NO_LANDING:
            return False
        return loads or (moves and kind is RestrictionKind.NOTHING)

    def dose(self, exercise):
        written = next(one for one in self.library.exercises if one.slug == self.written)
        dose = written.dose(self.slot.prescription.amount)
        whole = dose if exercise is written else transfer(dose, exercise)
        if not (tenths := self.tenths(exercise)):
            return whole
        return exercise.dose(max(1, whole.amount * tenths // 10), whole.tempo)

    def is_too_early(self, exercise, way):
        if self.as_if_well or way.step not in (ReturnStep.PAIN_FREE, ReturnStep.EASIER):
            return False
        if lands(exercise) and (way.region in LEGS_SPINE_HEAD or way.region in exercise.loads):
            return True
        return way.step is ReturnStep.PAIN_FREE and way.region in exercise.loads

    def tenths(self, exercise):
        """What a way back leaves of an exercise; None for all of it."""
        if self.as_if_well:
            return None
        left = [
            {ReturnStep.HALF: 5, ReturnStep.LIGHTER: 6}[way.step]
            for way in self.child.coming_back
            if way.step in (ReturnStep.HALF, ReturnStep.LIGHTER) and self.works(way, exercise)
        ]
        return min(left, default=None)

    def works(self, way, exercise):
        if way.region is None or way.region in exercise.loads:
            return True
        return lands(exercise) and way.region in LEGS_SPINE_HEAD

    @property
    def steps_allowed(self):
        if self.child.in_growth_spurt or self.harder_works_a_spared_place:
            return 0
        if self.library.pathways[0].slug in self.child.not_seen:
            return 0
        return self.slot.max_steps_up

    @property
    def harder_works_a_spared_place(self):
        harder = [one for one in self.library.exercises if self.is_harder_than_written(one.slug)]
        return any(
            contacts_or_moves(one, restriction.region) or one.slug in restriction.without
            for one in harder
            for restriction in self.child.restrictions
        ) or any(self.works(way, one) for one in harder for way in self.child.coming_back)

    def is_harder_than_written(self, slug):
        return slug in self.level and self.is_easier(self.written, slug)

    def rule_lets(self, one):
        if self.placement is None:
            return self.asks_no_more(one, self.written)
        placed_for_it = self.asks_no_more(one, self.placement)
        match self.slot.rule:
            case Rule.AS_WRITTEN:
                return one == self.written or (
                    placed_for_it and self.asks_no_more(one, self.written)
                )
            case Rule.EASIER_WHERE_NEEDED:
                return placed_for_it and self.asks_no_more(one, self.written)
            case Rule.MEET_PLACEMENT:
                return placed_for_it and self.steps_up(one) <= self.steps_allowed

    @property
    def target(self):
        if self.placement is None or self.slot.rule is Rule.AS_WRITTEN:
            return self.written
        if self.slot.rule is Rule.EASIER_WHERE_NEEDED:
            too_hard = self.is_easier(self.placement, self.written)
            return self.placement if too_hard else self.written
        if self.steps_up(self.placement) <= self.steps_allowed:
            return self.placement
        on_the_way = [
            one
            for one in self.joined
            if self.is_easier(self.written, one)
            and self.is_easier(one, self.placement)
            and self.steps_up(one) <= self.steps_allowed
        ]
        return min(
            on_the_way, key=lambda one: self.order(one, self.placement), default=self.written
        )

    def distance(self, one, to):
        return nx.shortest_path_length(self.joined, one, to)

    def order(self, one, target):
        """Nearest, then easier, then the lateral of the same rank, then a stable order."""
        beside = self.level[one] == self.level[target]
        preference = 0 if self.is_easier(one, target) else 1 if beside else 2
        return self.distance(one, target), preference, self.rank(one), one

    def order_of_choice(self, one, target):
        """The same, but what asks no more than written before what does, where only the slug would
        decide."""
        *nearness, slug = self.order(one, target)
        return *nearness, self.asks_more(one), slug

    def asks_more(self, slug):
        """More landings, twice the seconds of work and changes of side, or a grown-up to watch."""
        by_slug = {one.slug: one for one in self.library.exercises}
        exercise, written = by_slug[slug], by_slug[self.written]
        dose, asked = self.dose(exercise), written.dose(self.slot.prescription.amount)
        seconds = [
            each.seconds_per_bout() * (2 if each.sides == "each" else 1)
            + (4 if each.sides == "each" else 0)
            for each in (dose, asked)
        ]
        return (
            landings_of_one_set(exercise, dose) > landings_of_one_set(written, asked)
            or seconds[0] >= 2 * seconds[1]
            or (exercise.is_watched and not written.is_watched)
        )

    @property
    def choice(self):
        """What the rule comes to; where that, had nothing hurt, works a place that is to be worked
        with easier exercises, something easier in its place, if there is any."""
        usual = Reference(self.library, self.slot, self.child, as_if_well=True).meant
        by_slug = {one.slug: one for one in self.library.exercises}
        if usual is None or not self.on_pathway or not self.is_easier_due(by_slug[usual]):
            return self.meant
        easier = [
            one
            for one in nx.node_connected_component(self.joined, usual)
            if self.is_easier(one, usual) and not self.breaks_a_limit(one)
        ]
        return min(easier, key=lambda one: self.order_of_choice(one, usual), default=self.meant)

    def is_easier_due(self, exercise):
        return any(
            way.step is ReturnStep.EASIER and self.works(way, exercise)
            for way in self.child.coming_back
        )

    @property
    def meant(self):
        if not self.on_pathway:
            return None if self.breaks_a_limit(self.written) else self.written
        target = self.target
        allowed = [
            one
            for one in nx.node_connected_component(self.joined, target)
            if self.rule_lets(one) and not self.breaks_a_limit(one)
        ]
        return min(allowed, key=lambda one: self.order_of_choice(one, target), default=None)


def fit_one(library, slots, child):
    (slot,) = slots
    (fitted,) = fit_session(slots, child, library)
    return slot, fitted


@settings(max_examples=200)
@given(sessions())
def test_the_choice_is_the_one_that_enumeration_finds(session):
    library, slots, child = session
    slot, fitted = fit_one(library, slots, child)
    reference = Reference(library, slot, child)
    event(f"{slot.rule}: {fitted.outcome}")
    assert (fitted.given.exercise if fitted.given else None) == reference.choice


@settings(max_examples=200)
@given(sessions())
def test_nothing_allowed_is_nearer_to_the_target(session):
    library, slots, child = session
    slot, fitted = fit_one(library, slots, child)
    reference = Reference(library, slot, child)
    assume(fitted.given and reference.on_pathway and reference.choice == reference.meant)
    distances = nx.single_source_shortest_path_length(reference.joined, reference.target)
    allowed = [
        one for one in distances if reference.rule_lets(one) and not reference.breaks_a_limit(one)
    ]
    assert distances[fitted.given.exercise] == min(distances[one] for one in allowed)


@given(sessions())
def test_the_written_exercise_stays_where_it_is_allowed_and_is_the_target(session):
    library, slots, child = session
    slot, fitted = fit_one(library, slots, child)
    reference = Reference(library, slot, child)
    is_target = not reference.on_pathway or reference.target == slot.exercise
    assume(is_target and not reference.breaks_a_limit(slot.exercise))
    assume(not child.coming_back)
    if not reference.on_pathway or reference.rule_lets(slot.exercise):
        assert fitted.outcome is Outcome.AS_WRITTEN
        assert fitted.given.dose.amount == slot.prescription.amount


@given(sessions(most=4), st.randoms(use_true_random=False))
def test_hard_limits_hold_even_against_the_coachs_word(session, random):
    library, slots, child = session
    chosen = random.choice([None, "unknown", *(one.slug for one in library.exercises)])
    child = replace(child, overrides={random.choice(slots).key: chosen})
    by_slug = {one.slug: one for one in library.exercises}
    kit = USUAL_HOME_KIT if child.kit is None else child.kit
    contacts = dict.fromkeys(SHARES, 0)
    for slot, fitted in zip(slots, fit_session(slots, child, library), strict=True):
        for given_ in filter(None, [fitted.given, fitted.easier]):
            exercise = by_slug[given_.exercise]
            assert exercise.is_available
            assert child.age >= exercise.minimum_age
            assert all(need.items & kit for need in exercise.needs)
            for region, kind, *_ in child.restrictions:
                if kind is not RestrictionKind.NO_LANDING:
                    assert region not in exercise.loads
                if kind is RestrictionKind.NOTHING:
                    assert region not in exercise.moves
                if region in LEGS_SPINE_HEAD:
                    assert not lands(exercise)
        if fitted.given:
            exercise = by_slug[fitted.given.exercise]
            landings = landings_of_one_set(exercise, fitted.given.dose) * slot.rounds
            contacts[exercise.contact_class or "high"] += landings
    ceiling = child.contact_ceiling / (2 if child.in_growth_spurt else 1)
    elsewhere = child.elsewhere.values()
    if any(contacts.values()):
        in_all = sum(contacts.values()) + sum(sum(each.values()) for each in elsewhere)
        assert in_all <= ceiling
    for how_hard, here in contacts.items():
        alike = here + sum(each.get(how_hard, 0) for each in elsewhere)
        assert not here or round(alike, 6) <= ceiling * SHARES[how_hard]


@settings(max_examples=200)
@given(sessions())
def test_a_way_back_leaves_the_dose_that_the_plain_reading_leaves(session):
    library, slots, child = session
    slot, fitted = fit_one(library, slots, child)
    assume(fitted.given)
    reference = Reference(library, slot, child)
    exercise = next(one for one in library.exercises if one.slug == fitted.given.exercise)
    dose = reference.dose(exercise)
    usual = Reference(library, slot, child, as_if_well=True).meant
    is_made_easier = (
        usual and reference.is_easier(exercise.slug, usual) if reference.on_pathway else False
    )
    if reference.is_easier_due(exercise) and not is_made_easier:
        whole = Reference(library, slot, replace(child, coming_back=())).dose(exercise)
        dose = exercise.dose(max(1, whole.amount // 2), whole.tempo)
    assert fitted.given.dose == dose


@given(sessions(most=4))
def test_the_easier_option_is_really_easier_and_costs_no_more_landings(session):
    library, slots, child = session
    pathway = library.pathways[0]
    graph = PathwayGraph.build(pathway.slug, pathway.steps, pathway.laterals)
    for fitted in fit_session(slots, child, library):
        if fitted.easier:
            assert fitted.easier.exercise in graph.easier_than(fitted.given.exercise)
            assert fitted.easier.dose.ground_contacts <= fitted.given.dose.ground_contacts


@given(sessions())
def test_nobody_gets_something_harder_than_placed_unless_it_was_written_for_all(session):
    library, slots, child = session
    slot, fitted = fit_one(library, slots, child)
    reference = Reference(library, slot, child)
    assume(fitted.given and reference.placement)
    if not (slot.rule is Rule.AS_WRITTEN and fitted.outcome is Outcome.AS_WRITTEN):
        assert not reference.is_easier(reference.placement, fitted.given.exercise)


@given(sessions())
def test_only_meeting_a_placement_makes_anything_harder_and_never_in_a_growth_spurt(session):
    library, slots, child = session
    slot, fitted = fit_one(library, slots, child)
    if fitted.outcome is Outcome.HARDER:
        assert slot.rule is Rule.MEET_PLACEMENT
        assert not child.in_growth_spurt
        assert Reference(library, slot, child).steps_up(fitted.given.exercise) <= slot.max_steps_up


@given(sessions(most=4), st.sampled_from(ITEMS))
def test_taking_an_item_out_of_a_kit_never_yields_something_that_needs_it(session, item):
    library, slots, child = session
    child = replace(child, kit=(child.kit or frozenset()) - {item})
    by_slug = {one.slug: one for one in library.exercises}
    for fitted in fit_session(slots, child, library):
        for given_ in filter(None, [fitted.given, fitted.easier]):
            assert {item} not in [need.items for need in by_slug[given_.exercise].needs]


@given(sessions(most=4))
def test_items_nobody_has_heard_of_change_nothing(session):
    library, slots, child = session
    child = replace(child, kit=child.kit or frozenset())
    with_unknown = replace(child, kit=child.kit | {"trampoline", ""})
    assert fit_session(slots, with_unknown, library) == fit_session(slots, child, library)


@given(sessions(most=4))
def test_the_same_input_gives_the_same_answer_in_whatever_order_the_library_was_read(session):
    library, slots, child = session
    again = replace(library, exercises=library.exercises[::-1], pathways=library.pathways[::-1])
    assert fit_session(slots, child, again) == fit_session(slots, child, library)


@given(sessions(most=4))
def test_nothing_is_dropped_and_every_answer_says_why_to_both_readers(session):
    library, slots, child = session
    answers = fit_session(slots, child, library)
    assert [fitted.slot_key for fitted in answers] == [slot.key for slot in slots]
    for fitted in answers:
        assert (fitted.given is None) == (fitted.outcome is Outcome.COACH_DECIDES)
        assert fitted.reasons
        for reason in fitted.reasons:
            assert "{" not in for_coach(reason) + for_family(reason)
            assert for_family(reason).endswith(".")


@given(sessions())
def test_the_decisive_reason_names_what_the_child_gets_instead(session):
    library, slots, child = session
    _, fitted = fit_one(library, slots, child)
    if fitted.outcome in (Outcome.EASIER, Outcome.HARDER, Outcome.OTHER):
        assert fitted.reasons[0].instead == library.names[fitted.given.exercise]
        assert fitted.reasons[0].code is not ReasonCode.AS_WRITTEN
