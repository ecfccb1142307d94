"""What an exercise says, apart from who wrote it when: compared, and written as a new revision."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction

from library.models import Exercise, ExerciseRevision, Item, Need
from library.models.exercises import revision_fields
from library.signals import exercises_described
from library.slugs import free_slug


@dataclass(frozen=True)
class NeedContent:
    """A need in words, and the slugs of the items of which any one meets it."""

    what: str
    items: frozenset[str]


@dataclass(frozen=True)
class Content:
    """A revision's fields by name, and its needs in order. Equal contents say the same."""

    fields: Mapping[str, Any]
    needs: tuple[NeedContent, ...] = ()

    def __post_init__(self) -> None:
        kept = {name: self.fields[name] for name in revision_fields()}
        kept["contacts"] = Decimal(str(kept["contacts"])).quantize(Decimal("0.1"))
        for regions in ("loads", "moves"):
            kept[regions] = sorted(kept[regions])
        object.__setattr__(self, "fields", kept)

    @classmethod
    def of(cls, revision: ExerciseRevision) -> "Content":
        """What a revision says; no query where its needs and their items are prefetched."""
        return cls(
            {name: getattr(revision, name) for name in revision_fields()},
            tuple(
                NeedContent(need.what, frozenset(item.slug for item in need.items.all()))
                for need in revision.needs.all()
            ),
        )

    def differences(self, older: "Content") -> list[str]:
        """The names of the fields, "needs" among them, in which this differs from an older one."""
        names = [name for name, said in self.fields.items() if older.fields[name] != said]
        return [*names, "needs"] if self.needs != older.needs else names


SHOWING = ("movement", "picture", "picture_words")


def kept_showing(revision: ExerciseRevision | None) -> dict[str, Any]:
    """The fields that say what shows an exercise, as the revision has them; as new without one."""
    revision = revision or ExerciseRevision()
    return {name: getattr(revision, name) for name in SHOWING}


class Overtaken(Exception):
    """Somebody else has written a revision since the one that an edit began with."""

    def __init__(self, current: ExerciseRevision) -> None:
        self.current = current
        super().__init__(f"{current.exercise} is at revision {current.number} by now.")


@dataclass(frozen=True)
class Written:
    """What an exercise is to say from now on, and as which revision."""

    exercise: Exercise
    number: int
    content: Content
    by: str


@transaction.atomic
def begin(content: Content, *, by: str) -> Exercise:
    """A new exercise, a draft, that says this in its first revision."""
    exercise = Exercise.objects.create(slug=free_slug(Exercise, content.fields["name"]))
    write_revisions([Written(exercise, 1, content, by)])
    return exercise


@transaction.atomic
def revise(exercise: Exercise, content: Content, *, by: str, base: int | None) -> ExerciseRevision:
    """The exercise's new revision, now current; the one it has where that says the same already.

    `base` is the number of the revision that the edit began with, None for the first one. Raises
    Overtaken, and writes nothing, where that is no longer the current one.
    """
    exercise = Exercise.objects.select_for_update(no_key=True).get(pk=exercise.pk)
    # Asked for once the lock is held: a joined row would be as it was before the wait for it.
    current = exercise.current
    if current and current.number != base:
        raise Overtaken(current)
    if current and Content.of(current) == content:
        return current
    (revision,) = write_revisions(
        [Written(exercise, current.number + 1 if current else 1, content, by)]
    )
    return revision


def write_revisions(written: Iterable[Written]) -> list[ExerciseRevision]:
    """Write revisions with their needs and make them current: five queries however many, and what
    whoever is told of it asks.

    To be called in a transaction that has locked the exercises. Their `current` is set here and
    saved along with their status.
    """
    written = list(written)
    revisions = ExerciseRevision.objects.bulk_create(
        ExerciseRevision(
            exercise=each.exercise,
            number=each.number,
            created_by_name=each.by,
            **each.content.fields,
        )
        for each in written
    )
    pairs = list(zip(written, revisions, strict=True))
    _write_needs([(revision, each.content.needs) for each, revision in pairs])
    for each, revision in pairs:
        each.exercise.current = revision
    Exercise.objects.bulk_update([each.exercise for each in written], ["current", "status"])
    exercises_described.send(
        sender=ExerciseRevision, exercises={each.exercise.pk for each in written}
    )
    return revisions


def _write_needs(said: Iterable[tuple[ExerciseRevision, tuple[NeedContent, ...]]]) -> None:
    wanted = [
        (Need(revision=revision, position=position, what=need.what), sorted(need.items))
        for revision, needs in said
        for position, need in enumerate(needs)
    ]
    Need.objects.bulk_create(need for need, _ in wanted)
    ids = dict(Item.objects.values_list("slug", "pk"))
    through = Need.items.through
    through.objects.bulk_create(
        through(need_id=need.pk, item_id=ids[slug]) for need, slugs in wanted for slug in slugs
    )
