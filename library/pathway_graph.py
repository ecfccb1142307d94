"""A pathway of the database as a graph of slugs, and the exercises on it."""

from library.graph import PathwayGraph
from library.models import Exercise, Pathway


def graph_of(pathway: Pathway) -> PathwayGraph:
    """The graph of a pathway fetched `with_graph`."""
    return PathwayGraph.build(
        pathway.slug,
        [(step.easier.slug, step.harder.slug) for step in pathway.steps.all()],
        [(pair.one.slug, pair.other.slug) for pair in pathway.laterals.all()],
    )


def exercises_on(pathway: Pathway) -> dict[str, Exercise]:
    """Every exercise on a pathway fetched `with_graph`, by its slug."""
    ends = [(step.easier, step.harder) for step in pathway.steps.all()]
    ends += [(pair.one, pair.other) for pair in pathway.laterals.all()]
    return {exercise.slug: exercise for pair in ends for exercise in pair}
