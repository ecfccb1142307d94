"""The whole library as fit needs it, read once per edition and kept in memory by each process."""

import uuid
from dataclasses import dataclass
from functools import lru_cache

from django.dispatch import Signal

from library.body import Region
from library.models import Edition, Exercise, ExerciseRevision, Pathway
from library.tempo import Tempo
from program.common.session_plan import amounts_of
from program.engine.dose.dose import Measure, Sides
from program.engine.fit.library import FitExercise, FitLibrary, FitPathway, Need
from program.models import Recall


@dataclass(frozen=True)
class LibrarySnapshot:
    """The library as fit sees it, by slug the revisions that are current in it, and by id the
    exercises that have one. Shared by whoever asks: to be read, never changed."""

    stamp: uuid.UUID | None
    fit: FitLibrary
    revisions: dict[str, ExerciseRevision]
    exercises: dict[int, Exercise]


library_read = Signal()
"""Sent after an edition was read; nothing but the new one is kept."""

_latest: LibrarySnapshot | None = None


def library_snapshot() -> LibrarySnapshot:
    """The library as it is now: one query where this process has read this edition before."""
    global _latest
    stamp = Edition.objects.values_list("stamp", flat=True).first()
    if _latest is None or stamp is None or _latest.stamp != stamp:
        _latest = _read(stamp)
        library_read.send(LibrarySnapshot)
    return _latest


def _read(stamp: uuid.UUID | None) -> LibrarySnapshot:
    exercises = list(Exercise.objects.with_full_page())
    recalled = {each.exercise_id: each.words for each in Recall.objects.standing()}
    pathways = Pathway.objects.with_graph()
    return LibrarySnapshot(
        stamp,
        FitLibrary(
            tuple(
                _fit_exercise(each, each.current, recalled.get(each.pk, ""))
                for each in exercises
                if each.current
            ),
            tuple(_fit_pathway(pathway) for pathway in pathways),
        ),
        {each.slug: each.current for each in exercises if each.current},
        {each.pk: each for each in exercises if each.current},
    )


def _fit_exercise(exercise: Exercise, revision: ExerciseRevision, recalled: str) -> FitExercise:
    return FitExercise(
        slug=exercise.slug,
        name=revision.name,
        measure=Measure(revision.measure),
        amounts=amounts_of(revision),
        sides=Sides(revision.sides),
        tempo=Tempo.parse(revision.tempo) if revision.tempo else None,
        pattern=revision.pattern,
        contacts=float(revision.contacts),
        no_landing_because=revision.no_landing_because,
        contact_class=revision.contact_class,
        loads=frozenset(Region(region) for region in revision.loads),
        moves=frozenset(Region(region) for region in revision.moves),
        needs=tuple(
            Need(need.what, frozenset(item.slug for item in need.items.all()))
            for need in revision.needs.all()
        ),
        minimum_age=revision.minimum_age,
        is_available=exercise.is_published,
        recalled=recalled,
        is_watched=revision.watch,
    )


def _fit_pathway(pathway: Pathway) -> FitPathway:
    return FitPathway(
        pathway.slug,
        pathway.name,
        frozenset((step.easier.slug, step.harder.slug) for step in pathway.steps.all()),
        frozenset((pair.one.slug, pair.other.slug) for pair in pathway.laterals.all()),
    )


@lru_cache(maxsize=1)
def step_tests(stamp: "uuid.UUID | None") -> dict[tuple[str, str, str], str]:
    """By pathway and the two ends of a step, its own test; read once per edition of the library."""
    return {
        (pathway.slug, step.easier.slug, step.harder.slug): step.ready
        for pathway in Pathway.objects.with_graph()
        for step in pathway.steps.all()
    }
