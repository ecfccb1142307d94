"""What a browser sends when a coach saves an exercise's form."""

from library.forms.exercises import ExerciseEdit
from library.loaders import exercise_or_404


def sent(exercise=None, **typed):
    """Every field as the form shows it, but for what was typed; None empties a field."""
    if exercise is not None:
        exercise = exercise_or_404(exercise.slug)
    edit = ExerciseEdit(None, exercise)
    forms = [edit.form, edit.faults.management_form, *edit.faults]
    forms += [edit.needs.management_form, *edit.needs]
    data = {field.html_name: field.value() for form in forms for field in form}
    data |= typed
    return {name: value for name, value in data.items() if value is not None and value is not False}


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
