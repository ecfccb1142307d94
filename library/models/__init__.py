from library.models.edition import Edition, hold_the_edition, keep_the_edition
from library.models.exercises import (
    Exercise,
    ExerciseQuerySet,
    ExerciseRevision,
    Measure,
    Need,
    Pattern,
    Sides,
)
from library.models.items import Item
from library.models.loaded_rows import LoadedRow
from library.models.notes import ExerciseNote
from library.models.pathways import Lateral, Pathway, PathwayQuerySet, Step

__all__ = [
    "Edition",
    "Exercise",
    "ExerciseNote",
    "ExerciseQuerySet",
    "ExerciseRevision",
    "Item",
    "Lateral",
    "LoadedRow",
    "Measure",
    "Need",
    "Pathway",
    "PathwayQuerySet",
    "Pattern",
    "Sides",
    "Step",
    "hold_the_edition",
    "keep_the_edition",
]
