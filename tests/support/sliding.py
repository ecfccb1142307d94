"""Slides of the heels, of which all but the easiest want a smooth floor; homes with one and
without."""

from athletes.models import Child, Cohort, HomeKit
from library.models import Exercise, Pathway
from program.models import Session
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ExerciseFactory,
    ItemFactory,
    PartFactory,
    PathwayFactory,
    SessionFactory,
    SlotFactory,
)


def pathway_of_slides() -> Pathway:
    """Heel walk-out, heel slide, one-leg slide; all but the first need a smooth floor."""
    tiles = [("a smooth floor for sliding", ["smooth-floor"])]
    return PathwayFactory(
        slug="slides",
        name="Slides",
        chain=[
            ExerciseFactory(slug="heel-walk-out", revision__loads=["thigh"]),
            ExerciseFactory(slug="heel-slide", revision__loads=["thigh"], revision__needs=tiles),
            ExerciseFactory(slug="one-leg-slide", revision__loads=["thigh"], revision__needs=tiles),
        ],
    )


def session_with(cohort: Cohort, slug: str = "heel-slide", place: str = "home", **slot) -> Session:
    """A session of one exercise, in a block of its own."""
    session = SessionFactory(block=BlockFactory(cohort=cohort), place=place)
    SlotFactory(part=PartFactory(session=session), exercise=Exercise.objects.get(slug=slug), **slot)
    return session


def has(child: Child, *slugs: str) -> None:
    """Say what is at home; the items are made where they are not there yet."""
    home, _ = HomeKit.objects.get_or_create(child=child)
    home.items.set(ItemFactory(slug=slug) for slug in slugs)


def spare_the_thigh(child: Child) -> None:
    """On the sessions' day."""
    child.restrictions.create(region="thigh", kind="nothing", start=MONDAY, until=MONDAY)
