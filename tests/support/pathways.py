"""Random pathways without contradictions, for hypothesis."""

from itertools import combinations

from hypothesis import strategies as st

from library.graph import PathwayGraph


@st.composite
def pathways(draw, slug="random", most=9, least_steps=0):
    """A pathway of up to `most` exercises a, b, c, … with some steps, laterals and strays.

    Exercises are dealt onto rungs; steps lead from a lower rung to a higher one and laterals stay
    on one, so nothing contradicts anything. Names say nothing about the rung.
    """
    names = draw(st.permutations("abcdefghijkl"[: draw(st.integers(1, most))]))
    rungs = {name: draw(st.integers(0, 4)) for name in names}
    upward = [
        (one, other) if rungs[one] < rungs[other] else (other, one)
        for one, other in combinations(names, 2)
        if rungs[one] != rungs[other]
    ]
    level = [pair for pair in combinations(names, 2) if rungs[pair[0]] == rungs[pair[1]]]
    return PathwayGraph.build(slug, _some(draw, upward, least_steps), _some(draw, level), names)


def _some(draw, pairs, at_least=0):
    if not pairs:
        return frozenset()
    fewest = min(at_least, len(pairs))
    return draw(st.frozensets(st.sampled_from(pairs), min_size=fewest, max_size=12))
