"""Small libraries, slots and children for the tests of fit, and random ones for hypothesis."""

from itertools import pairwise

from hypothesis import strategies as st

from library.body import Region, RestrictionKind, Side
from library.landing import ContactClass
from library.tempo import Tempo
from program.engine.dose.dose import DoseRange, Measure, Sides
from program.engine.fit.aim import Rule
from program.engine.fit.fitting import WrittenSlot
from program.engine.fit.library import FitExercise, FitLibrary, FitPathway, Need
from program.engine.fit.limits import ComingBack, FitChild, Restriction, ReturnStep
from program.engine.prescription import Prescription
from tests.support.pathways import pathways


def exercise(slug, *, low=1, usual=8, high=20, **facts):
    """Eight repetitions on both sides, without needs, loads or landings, unless told otherwise."""
    name = slug.replace("-", " ").capitalize()
    facts.setdefault("measure", Measure.REPETITIONS)
    if facts.get("contacts"):
        facts.setdefault("contact_class", "low")
    return FitExercise(slug=slug, name=name, amounts=DoseRange(low, usual, high), **facts)


def pathway(slug, *steps, laterals=()):
    """Steps as "a b c": a is easier than b, and b than c. Laterals as "a b"."""
    chains = [chain.split() for chain in steps]
    return FitPathway(
        slug,
        slug.replace("-", " ").capitalize(),
        frozenset((a, b) for chain in chains for a, b in pairwise(chain)),
        frozenset(tuple(pair.split()) for pair in laterals),
    )


def library_of(*pathways, **special):
    """Plain exercises for every member of the pathways, but for those given by keyword."""
    slugs = {member for one in pathways for member in one.members}
    plain = [exercise(slug) for slug in sorted(slugs - special.keys())]
    return FitLibrary((*plain, *special.values()), pathways)


def slot(slug, amount=8, *, key="slot", tempo="", **facts):
    return WrittenSlot(key=key, exercise=slug, prescription=Prescription(amount, tempo), **facts)


def child(key="child", *, age=12, contact_ceiling=60, kit=frozenset(), **facts):
    """Twelve years old, placed nowhere, with nothing at home and nothing the matter."""
    return FitChild(key=key, age=age, contact_ceiling=contact_ceiling, kit=kit, **facts)


ITEMS = ("rope", "chair", "lid")
REGIONS = (Region.KNEE, Region.WRIST_HAND, Region.LOWER_BACK)

items = st.frozensets(st.sampled_from(ITEMS), max_size=3)
rarely = st.sampled_from([False] * 4 + [True])
regions = st.frozensets(st.sampled_from(REGIONS), max_size=2)
restrictions = st.builds(
    Restriction,
    st.sampled_from(REGIONS),
    st.sampled_from(RestrictionKind),
    st.sampled_from(Side),
)


ways_back = st.builds(
    ComingBack,
    st.sampled_from(REGIONS),
    st.sampled_from([ReturnStep.PAIN_FREE, ReturnStep.EASIER, ReturnStep.HALF]),
) | st.just(ComingBack(None, ReturnStep.LIGHTER))


LANDED_ELSEWHERE = [
    *[{}] * 3,
    {"a": {ContactClass.LOW: 12.5}},
    {"a": {ContactClass.LOW: 5, ContactClass.HIGH: 20}, "b": {ContactClass.FROM_HEIGHT: 15}},
]


@st.composite
def exercises(draw, slug):
    measure = draw(st.sampled_from(Measure))
    low, usual, high = sorted(draw(st.tuples(*[st.integers(1, 30)] * 3)))
    counts_repetitions = measure is Measure.REPETITIONS
    return FitExercise(
        slug=slug,
        name=f"Exercise {slug}",
        measure=measure,
        amounts=DoseRange(low, usual, high),
        sides=draw(st.sampled_from(Sides)),
        tempo=Tempo(3, 1, 1, 0) if counts_repetitions and draw(st.booleans()) else None,
        pattern=draw(st.sampled_from(["squat", "squat", "squat", "land"])),
        no_landing_because=draw(st.sampled_from(["", "the toes stay down"])),
        contacts=draw(st.sampled_from([0, 0, 0, 0.5, 1])),
        contact_class=draw(st.sampled_from(["", "low", "low", "medium", "from_height"])),
        loads=draw(regions),
        moves=draw(regions),
        needs=(Need("a thing", draw(items)),) if draw(rarely) else (),
        minimum_age=draw(st.sampled_from([4, 4, 4, 4, 8])),
        is_available=not draw(rarely),
        is_watched=draw(rarely),
    )


@st.composite
def libraries(draw):
    """One pathway whose exercises are of every sort, not all of them in the library."""
    graph = draw(pathways(most=7, least_steps=6))
    first, *others = draw(st.permutations(sorted(graph.members)))
    known = [first, *(name for name in others if draw(st.integers(0, 9)))]
    return FitLibrary(
        tuple(draw(exercises(name)) for name in known),
        (FitPathway(graph.slug, "Random", graph.steps, graph.laterals),),
    )


@st.composite
def slots_of(draw, library, key="slot"):
    return WrittenSlot(
        key=key,
        exercise=draw(st.sampled_from([one.slug for one in library.exercises])),
        prescription=Prescription(draw(st.integers(1, 30))),
        rounds=draw(st.integers(1, 3)),
        rule=draw(st.sampled_from(Rule)),
        max_steps_up=draw(st.sampled_from([1, 2, 3, 0])),
    )


@st.composite
def children_of(draw, library):
    places = [*sorted(library.pathways[0].members), "somewhere else"]
    placement = draw(st.sampled_from([*places, None]))
    return FitChild(
        key="child",
        age=draw(st.sampled_from([12, 12, 6])),
        contact_ceiling=draw(st.sampled_from([500, 500, 80, 20, 0])),
        placements={} if placement is None else {library.pathways[0].slug: placement},
        not_seen=frozenset({library.pathways[0].slug}) if draw(rarely) else frozenset(),
        kit=draw(st.none() | items),
        in_growth_spurt=draw(rarely),
        restrictions=(draw(restrictions),) if draw(rarely) else (),
        coming_back=(draw(ways_back),) if draw(st.booleans()) else (),
        elsewhere=draw(st.sampled_from(LANDED_ELSEWHERE)),
    )


@st.composite
def sessions(draw, most=1):
    """A library, up to `most` slots on it, and a child."""
    library = draw(libraries())
    slots = [draw(slots_of(library, key=str(n))) for n in range(draw(st.integers(1, most)))]
    return library, tuple(slots), draw(children_of(library))
