"""What a browser sends when a coach saves an exercise's form."""

from typing import Any

from django.db import connection, transaction

from library.forms.exercises import ExerciseEdit
from library.loaders import exercise_or_404
from library.models import Exercise
from tests.support.factories import ExerciseFactory


def sent(exercise=None, **typed):
    """Every field as the form shows it, but for what was typed; None empties a field."""
    if exercise is not None:
        exercise = exercise_or_404(exercise.slug)
    data = as_shown(ExerciseEdit(None, exercise)) | typed
    return {name: value for name, value in data.items() if value is not None and value is not False}


def as_shown(edit: ExerciseEdit) -> dict[str, Any]:
    """Every field of a form as it is shown, if nobody types anything."""
    forms = [edit.form, edit.faults.management_form, *edit.faults]
    forms += [edit.needs.management_form, *edit.needs]
    data = {field.html_name: field.value() for form in forms for field in form}
    return {name: value for name, value in data.items() if value is not None and value is not False}


@transaction.atomic
def written_before_it_was_asked(slug: str, **said: Any) -> Exercise:
    """A jump that gives no ground contacts nor why nothing lands, as databases may hold one from
    before that was asked for: with the constraint away while it is written, as it was then."""
    asks = "a_landing_lands_or_says_why_not"
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_get_constraintdef(oid) FROM pg_constraint WHERE conname = %s", [asks]
        )
        (condition,) = cursor.fetchone()
        cursor.execute(f"ALTER TABLE library_exerciserevision DROP CONSTRAINT {asks}")
    jump = {"revision__pattern": "jump", "revision__no_landing_because": ""}
    exercise = ExerciseFactory(slug=slug, **jump | said)
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute(f"ALTER TABLE library_exerciserevision ADD CONSTRAINT {asks} {condition}")
    return exercise


NEW = {
    "name": "Box squat",
    "pattern": "squat",
    "plain": "Your child sits down on a box and stands up.",
    "sides": "both",
    "measure": "repetitions",
    "usual": 8,
    "low": 5,
    "high": 12,
    "tempo": "3-1-1-0",
    "contacts": 0,
    "minimum_age": 7,
    "setup": "A box at knee height, against a wall.",
    "feel": "The front of the thighs.",
    "stop": "Stop when a knee hurts.",
    "cue_1": "Sit like a feather",
    "region_knee": "loads",
    "region_ankle": "moves",
}
