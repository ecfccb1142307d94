"""Small honest objects for tests. Each factory makes the least that the database accepts."""

import datetime as dt
import itertools
from typing import Any

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory

from athletes import models as athletes
from library import models as library
from library.landing import LANDING_PATTERNS
from program import models as program
from tests.support.consents import USUAL, said

MONDAY = dt.date(2026, 11, 2)


class ItemFactory(DjangoModelFactory):
    class Meta:
        model = library.Item
        django_get_or_create = ("slug",)

    slug = factory.Sequence(lambda n: f"item-{n}")
    name = factory.LazyAttribute(lambda item: item.slug.replace("-", " "))
    kind = "thing"


class ExerciseFactory(DjangoModelFactory):
    """A published exercise with one revision; revision fields are given as `revision__name=…`."""

    class Meta:
        model = library.Exercise
        skip_postgeneration_save = True

    slug = factory.Sequence(lambda n: f"exercise-{n}")
    status = "draft"

    @factory.post_generation
    def revision(exercise: library.Exercise, create: bool, extracted: Any, **fields: Any) -> None:  # noqa: N805
        needs = fields.pop("needs", ())
        status = fields.pop("status", "published")
        exercise.current = RevisionFactory(
            exercise=exercise, **({"name": exercise.slug.replace("-", " ").capitalize()} | fields)
        )
        for position, (what, items) in enumerate(needs):
            need = exercise.current.needs.create(position=position, what=what)
            need.items.set(ItemFactory(slug=slug) for slug in items)
        exercise.status = status
        exercise.save()


class RevisionFactory(DjangoModelFactory):
    class Meta:
        model = library.ExerciseRevision

    exercise = factory.SubFactory(ExerciseFactory)
    number = 1
    name = "Sit to stand"
    pattern = "squat"
    sides = "both"
    measure = "repetitions"
    usual = 8
    low = 5
    high = 12
    tempo = "3-1-1-0"
    plain = "Sit down slowly and stand up again."
    setup = "A chair with its back to the wall."
    cues = factory.LazyFunction(lambda: ["Sit like a feather", "Push the floor away"])
    faults = factory.LazyFunction(lambda: [{"see": "Knees fall in", "say": "Show me your knees"}])
    feel = "The front of the thighs."
    stop = "Stop when a knee hurts."
    loads = factory.LazyAttribute(
        lambda said: ["knee", "thigh", *(["ankle"] if said.pattern in LANDING_PATTERNS else [])]
    )
    moves = factory.LazyAttribute(lambda said: [] if "ankle" in said.loads else ["ankle"])
    contacts = 0
    contact_class = factory.LazyAttribute(lambda said: "low" if said.contacts else "")
    no_landing_because = factory.LazyAttribute(
        lambda said: (
            "the feet stay on the floor"
            if said.pattern in LANDING_PATTERNS and not said.contacts
            else ""
        )
    )


class PathwayFactory(DjangoModelFactory):
    """A pathway; `PathwayFactory(chain=[a, b, c])` makes the steps a -> b -> c."""

    class Meta:
        model = library.Pathway
        skip_postgeneration_save = True

    slug = factory.Sequence(lambda n: f"pathway-{n}")
    name = factory.LazyAttribute(lambda pathway: pathway.slug.capitalize())
    pattern = "squat"
    about = "From a chair to one leg."

    @factory.post_generation
    def chain(pathway: library.Pathway, create: bool, extracted: Any, **_: Any) -> None:  # noqa: N805
        exercises = extracted or []
        for easier, harder in itertools.pairwise(exercises):
            pathway.steps.create(
                easier=easier, harder=harder, change="Deeper.", ready="Eight calm ones, twice."
            )


class UserFactory(DjangoModelFactory):
    class Meta:
        model = athletes.User

    name = factory.Sequence(lambda n: f"Person {n}")
    email = factory.LazyAttribute(lambda user: f"{user.name.lower().replace(' ', '.')}@example.org")
    role = "guardian"


class CohortFactory(DjangoModelFactory):
    class Meta:
        model = athletes.Cohort
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"Cohort {n}")
    youngest = 9
    oldest = 12

    @factory.post_generation
    def coached_by(cohort: athletes.Cohort, create: bool, extracted: Any, **_: Any) -> None:  # noqa: N805
        cohort.coaches.set(extracted or [])


class ChildFactory(DjangoModelFactory):
    """A child; `cohort=` enrols, `guardian=` gives a parent, who has agreed to all but heights or,
    with `agrees=()`, was asked nothing yet."""

    class Meta:
        model = athletes.Child
        skip_postgeneration_save = True

    given_name = factory.Sequence(lambda n: f"Child{n}")
    family_initial = "T"
    birth_date = dt.date(2015, 6, 15)

    @factory.post_generation
    def cohort(child: athletes.Child, create: bool, extracted: Any, **_: Any) -> None:  # noqa: N805
        if extracted:
            child.enrolments.create(cohort=extracted, start=MONDAY - dt.timedelta(weeks=8))

    @factory.post_generation
    def guardian(child: athletes.Child, create: bool, extracted: Any, **_: Any) -> None:  # noqa: N805
        child.its_guardian = extracted  # type: ignore[attr-defined]
        if extracted:
            child.guardianships.create(guardian=extracted)

    @factory.post_generation
    def agrees(child: athletes.Child, create: bool, extracted: Any, **_: Any) -> None:  # noqa: N805
        person = child.its_guardian  # type: ignore[attr-defined]
        if person:
            said(child, person, USUAL if extracted is None else extracted)


class BlockFactory(DjangoModelFactory):
    class Meta:
        model = program.Block

    cohort = factory.SubFactory(CohortFactory)
    name = factory.Sequence(lambda n: f"Block {n}")
    starts_on = MONDAY
    ends_on = MONDAY + dt.timedelta(days=55)


class SessionFactory(DjangoModelFactory):
    class Meta:
        model = program.Session

    block = factory.SubFactory(BlockFactory)
    name = factory.Sequence(lambda n: f"Session {n}")
    date = MONDAY


class PartFactory(DjangoModelFactory):
    class Meta:
        model = program.Part

    session = factory.SubFactory(SessionFactory)
    position = 0
    name = "Warm-up"


class SlotFactory(DjangoModelFactory):
    class Meta:
        model = program.Slot

    part = factory.SubFactory(PartFactory)
    position = 0
    exercise = factory.SubFactory(ExerciseFactory)
    amount = 8
    tempo = "3-1-1-0"


class AssignedSessionFactory(DjangoModelFactory):
    """A published session of one child, without slots."""

    class Meta:
        model = program.AssignedSession

    session = factory.SubFactory(SessionFactory)
    child = factory.SubFactory(ChildFactory)
    name = factory.SelfAttribute("session.name")
    date = factory.SelfAttribute("session.date")
    place = "home"
    seconds = 1200
    published_at = factory.LazyFunction(timezone.now)
    fingerprint = "made-by-a-test"


class CompletionFactory(DjangoModelFactory):
    """Done on the day the session was written for, or logged, whichever came first."""

    class Meta:
        model = program.Completion

    assigned_session = factory.SubFactory(AssignedSessionFactory)
    state = "done"
    logged_at = factory.LazyFunction(timezone.now)
    done_on = factory.LazyAttribute(
        lambda log: (
            None
            if log.state == "not"
            else min(log.assigned_session.date, timezone.localdate(log.logged_at))
        )
    )


class AssignedSlotFactory(DjangoModelFactory):
    class Meta:
        model = program.AssignedSlot

    assigned_session = factory.SubFactory(AssignedSessionFactory)
    part_position = 0
    part_name = "Warm-up"
    part_kind = "straight"
    rounds = 2
    part_rest_seconds = 30
    position = 0
    revision = factory.LazyFunction(lambda: ExerciseFactory().current)
    amount = 8
    tempo = "3-1-1-0"
    rest_seconds = 0
