"""Writing a checked folder into the database: what is new or reads differently than last time."""

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import Any

from django.db import connection, transaction
from django.db.models import Model

from library import pathway_changes
from library.loading.checks import Links, Standing, findings, key_of, lateral_key, step_key
from library.loading.reading import BadRow, Folder, Row, read
from library.models import Exercise, ExerciseRevision, Item, Lateral, LoadedRow, Pathway, Step
from library.revisions import Content, NeedContent, Written, kept_showing, write_revisions

BY = "the library files"
# Any number that no other advisory lock of ours uses; two loads at once then take turns.
ONE_LOAD_AT_A_TIME = 7_201_125


class BadFiles(Exception):
    """Files with mistakes, all of them listed; nothing was loaded."""

    def __init__(self, bad: list[BadRow]) -> None:
        self.bad = bad
        super().__init__("\n".join(map(str, bad)))


@dataclass
class Loaded:
    """What a load came to: how many rows of each kind are in the files, and what was written."""

    read: Counter[str] = field(default_factory=Counter)
    new: Counter[str] = field(default_factory=Counter)
    changed: Counter[str] = field(default_factory=Counter)
    removed: Counter[str] = field(default_factory=Counter)
    over_edits: list[str] = field(
        default_factory=list
    )  # exercises edited here, now as in the files

    @property
    def wrote(self) -> bool:
        return bool(self.new or self.changed or self.removed)


@transaction.atomic
def load(folder: Path) -> Loaded:
    """Load every file of the folder, or raise BadFiles and load none.

    Exercises that are no longer in the files stay; steps and laterals that files once brought and
    now leave out go. What coaches changed stays changed until its row in the files changes.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [ONE_LOAD_AT_A_TIME])
    files = read(folder)
    store = _Store(files)
    if bad := findings(files, store.standing()):
        raise BadFiles(bad)
    return store.write()


class _Store:
    """The folder beside what the database holds; every method writes one kind of row."""

    def __init__(self, folder: Folder) -> None:
        self.folder = folder
        self.loaded = Loaded()
        self.remembered = dict(LoadedRow.objects.values_list("key", "digest"))
        self.digests: dict[str, str] = {}
        self.links_changed: list[Step | Lateral] = []
        self.items = {item.slug: item for item in Item.objects.all()}
        self.pathways = {pathway.slug: pathway for pathway in Pathway.objects.all()}
        self.exercises = self._locked_exercises()
        self.steps = {
            step_key(step.pathway.slug, step.easier.slug, step.harder.slug): step
            for step in Step.objects.select_related("pathway", "easier", "harder")
        }
        self.laterals = {
            lateral_key(pair.pathway.slug, pair.one.slug, pair.other.slug): pair
            for pair in Lateral.objects.select_related("pathway", "one", "other")
        }

    def _locked_exercises(self) -> dict[str, Exercise]:
        """The exercises that the files name, by slug, nobody else's to change until we are done."""
        named = [row.data["slug"] for row in self.folder.of("exercise") if row.sound("slug")]
        locked = Exercise.objects.select_for_update(no_key=True).filter(slug__in=named)
        # Asked for again once the locks are held: a joined row would be as it was before the wait.
        ids = [exercise.pk for exercise in locked.order_by("pk")]
        exercises = Exercise.objects.filter(pk__in=ids).select_related("current")
        return {one.slug: one for one in exercises.prefetch_related("current__needs__items")}

    def standing(self) -> Standing:
        links: dict[str, Links] = {}
        by_hand = [key for key in (*self.steps, *self.laterals) if key not in self.remembered]
        for slug in self.pathways:
            links[slug] = Links(
                _pairs(by_hand, f"step/{slug}/"), _pairs(by_hand, f"lateral/{slug}/")
            )
        exercises = Exercise.objects.values_list("slug", flat=True)
        taken_out = {key for key, row in self._links() if self._was_taken_out(key, row)}
        return Standing(set(self.items), set(exercises), links, taken_out)

    def write(self) -> Loaded:
        self._write_items()
        self._write_pathways()
        self._write_exercises()
        self._remove_links()
        self._write_steps()
        self._write_laterals()
        pathway_changes.tell(self.links_changed)
        LoadedRow.objects.bulk_create(
            [LoadedRow(key=key, digest=digest) for key, digest in self.digests.items()],
            update_conflicts=True,
            unique_fields=["key"],
            update_fields=["digest"],
        )
        return self.loaded

    def _links(self) -> Iterator[tuple[str, Row]]:
        """Every step and lateral of the files that names its ends, by key."""
        for file in self.folder.pathways:
            if file.pathway and file.pathway.sound("slug"):
                slug = file.pathway.data["slug"]
                yield from ((key_of(row, slug), row) for row in file.linking_rows())

    def _was_taken_out(self, key: str, row: Row) -> bool:
        return (
            key not in self.steps
            and key not in self.laterals
            and self.remembered.get(key) == _digest(row.data)
        )

    def _has_to_be_written(self, kind: str, key: str, digest: str, *, is_here: bool) -> bool:
        """Count the row; remember it and say True where it has to be written."""
        self.loaded.read[kind] += 1
        if is_here and self.remembered.get(key) == digest:
            return False
        self.digests[key] = digest
        return True

    def _write_items(self) -> None:
        new: list[Item] = []
        changed: list[Item] = []
        for row in self.folder.items:
            slug = row.data["slug"]
            item = self.items.get(slug)
            if self._has_to_be_written(
                "item", key_of(row), _digest(row.data), is_here=item is not None
            ):
                (changed if item else new).append(_filled(item or Item(slug=slug), row.data))
        self._save("item", Item, new, changed, ["name", "kind", "about"])

    def _write_pathways(self) -> None:
        new: list[Pathway] = []
        changed: list[Pathway] = []
        for row in self.folder.of("pathway"):
            slug = row.data["slug"]
            pathway = self.pathways.get(slug)
            if self._has_to_be_written(
                "pathway", key_of(row), _digest(row.data), is_here=pathway is not None
            ):
                filled = _filled(pathway or Pathway(slug=slug), row.data)
                (changed if pathway else new).append(filled)
                self.pathways[slug] = filled
        self._save("pathway", Pathway, new, changed, ["name", "pattern", "about"])

    def _write_exercises(self) -> None:
        written: list[Written] = []
        for row, pattern in self._exercise_rows():
            exercise = self.exercises.get(row.data["slug"])
            digest = _digest(row.data, pattern)
            if self._has_to_be_written(
                "exercise", key_of(row), digest, is_here=exercise is not None
            ):
                written += self._next_revision(exercise, row, pattern)
        fresh = Exercise.objects.bulk_create(
            each.exercise for each in written if each.exercise.pk is None
        )
        for exercise in fresh:
            exercise.status = Exercise.Status.PUBLISHED
        write_revisions(written)

    def _exercise_rows(self) -> Iterator[tuple[Row, str]]:
        for file in self.folder.pathways:
            if file.pathway:
                pattern = file.pathway.data["pattern"]
                yield from ((row, pattern) for row in file.of("exercise"))

    def _next_revision(self, exercise: Exercise | None, row: Row, pattern: str) -> list[Written]:
        content = _content(row.data, pattern, exercise.current if exercise else None)
        if exercise is None:
            exercise = Exercise(slug=row.data["slug"])
            self.exercises[exercise.slug] = exercise
            self.loaded.new["exercise"] += 1
            return [Written(exercise, 1, content, BY)]
        current = exercise.current
        if current and Content.of(current) == content:
            return []
        if current and current.created_by_name != BY:
            self.loaded.over_edits.append(exercise.slug)
        self.loaded.changed["exercise"] += 1
        return [Written(exercise, current.number + 1 if current else 1, content, BY)]

    def _remove_links(self) -> None:
        """Steps and laterals that these files' pathways once brought and now leave out."""
        kept = {key for key, _ in self._links()}
        ours = {row.data["slug"] for row in self.folder.of("pathway")}
        gone = {
            key
            for key in self.remembered
            if key.startswith(("step/", "lateral/")) and key.split("/")[1] in ours
        } - kept
        for kind, model, here in (("step", Step, self.steps), ("lateral", Lateral, self.laterals)):
            links = [here.pop(key) for key in gone & here.keys()]
            ids = [link.pk for link in links]
            self.links_changed += links
            model._default_manager.filter(pk__in=ids).delete()
            self._count(self.loaded.removed, kind, ids)
        LoadedRow.objects.filter(key__in=gone).delete()

    def _write_steps(self) -> None:
        new: list[Step] = []
        changed: list[Step] = []
        for key, row in self._links_to_write("step"):
            step = self.steps.get(key)
            ends = {end: self._exercise(row.data[end]) for end in ("easier", "harder")}
            pathway = self.pathways[key.split("/")[1]]
            texts = {"change": row.data["change"], "ready": row.data["ready"]}
            filled = _filled(step or Step(pathway=pathway, **ends), texts)
            (changed if step else new).append(filled)
        self._save("step", Step, new, changed, ["change", "ready"])
        self.links_changed += new

    def _write_laterals(self) -> None:
        new = []
        for key, row in self._links_to_write("lateral"):
            if key not in self.laterals:
                one, other = (self._exercise(slug) for slug in row.data["between"])
                new.append(Lateral.between(self.pathways[key.split("/")[1]], one, other))
        self._save("lateral", Lateral, new, [], [])
        self.links_changed += new

    def _links_to_write(self, kind: str) -> Iterator[tuple[str, Row]]:
        for key, row in self._links():
            here = self._was_taken_out(key, row) or key in self.steps or key in self.laterals
            if row.kind == kind and self._has_to_be_written(
                kind, key, _digest(row.data), is_here=here
            ):
                yield key, row

    def _exercise(self, slug: str) -> Exercise:
        if slug not in self.exercises:
            self.exercises[slug] = Exercise.objects.get(slug=slug)
        return self.exercises[slug]

    def _save[Saved: Model](
        self,
        kind: str,
        model: type[Saved],
        new: list[Saved],
        changed: list[Saved],
        fields: list[str],
    ) -> None:
        model._default_manager.bulk_create(new)
        if changed:
            model._default_manager.bulk_update(changed, fields)
        self._count(self.loaded.new, kind, new)
        self._count(self.loaded.changed, kind, changed)

    @staticmethod
    def _count(counter: Counter[str], kind: str, rows: Iterable[Any]) -> None:
        if number := len(list(rows)):
            counter[kind] += number


def _pairs(keys: Iterable[str], start: str) -> list[tuple[str, str]]:
    ends = [key.removeprefix(start).split("/") for key in keys if key.startswith(start)]
    return [(one, other) for one, other in ends]


def _filled[Filled: Model](row: Filled, values: Mapping[str, Any]) -> Filled:
    for name, value in values.items():
        setattr(row, name, value)
    return row


def _content(data: Mapping[str, Any], pattern: str, current: ExerciseRevision | None) -> Content:
    """What an exercise's row says, under the names of the revision's fields.

    The files say nothing of a coach's own figure; the current one stays.
    """
    elsewhere = {"slug", "needs", "min_age"}
    said = {name: value for name, value in data.items() if name not in elsewhere}
    usual = {
        "tempo": "",
        "contact_class": "",
        "no_landing_because": "",
        "setup_seconds": 0,
        "other_names": [],
    }
    said = {**usual, **kept_showing(current), **said}
    return Content(
        {**said, "pattern": pattern, "minimum_age": data["min_age"]},
        tuple(NeedContent(need["what"], frozenset(need["any"])) for need in data["needs"]),
    )


def _digest(*said: Any) -> str:
    return sha256(json.dumps(said, sort_keys=True, default=str).encode()).hexdigest()
