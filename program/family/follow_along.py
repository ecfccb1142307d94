"""What the follow-along needs to run a session by itself: words, doses and timed steps.

Nothing here queries: sessions come from `loaders.to_follow_or_404`.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any, Final

from library.body import Region, RestrictionKind
from library.models import ExerciseRevision
from program.common.session_plan import (
    amounts_of,
    dose_of,
    easier_of,
    items_needed,
    plan_of,
    timed,
)
from program.engine.dose.dose import Dose, Measure, in_words
from program.engine.fit.library import FitExercise
from program.engine.fit.limits import Restriction
from program.engine.pace import Pace
from program.engine.pain import FIRST_TO_DO, Call, calls_at
from program.engine.timeline import PartKind, Step, StepKind, TimedPart, TimedSlot, timeline
from program.family.figures import Shown, beats, photo_of
from program.log.forms import LogForm, SlotRow
from program.models import AssignedSession, AssignedSlot, PainReport

WORDS: Final = {"lowering": "down", "pause": "still", "lifting": "up", "top": "still"}

ENDS_FROM: Final = 4
"""How much pain, of 10, ends the session rather than only the exercise. Common practice, from
memory, on the careful side: no published threshold for children stands behind it."""
ENDS_WHERE: Final = (Region.HEAD_NECK,)
"""Where any pain at all ends it: a child with a sore head or neck stops and is looked at."""


def follow_data(
    session: AssignedSession,
    notes: Mapping[int, tuple[str, ...]],
    reports: Iterable[PainReport] = (),
    forbidden: Collection[str] = (),
) -> dict[str, Any]:
    """The session as JSON. An exercise that is not drawn is shown in words. `notes` are what
    coaches say to everybody who does an exercise, by its id; `reports` what the child has reported
    of late, so that a phone which reported more spares that by itself; `forbidden` the exercises,
    by slug, that it may not do any more."""
    reports = list(reports)
    rows = {f"slot-{row.slot.pk}": row for row in LogForm(session).rows}
    plan = plan_of(session)
    return {
        "fingerprint": session.fingerprint,
        "name": session.name,
        "pace": {"get_ready": session.get_ready, "move_on": session.move_on},
        "slots": {row.key: _slot(row, notes, session.pace) for row in rows.values()},
        "steps": [_step(step, rows) for step in _with_targets(plan.steps)],
        "endsFrom": ENDS_FROM,
        "endsWhere": [region.value for region in ENDS_WHERE],
        "symptoms": {symptom.value: text for symptom, text in FIRST_TO_DO.items()},
        "calls": [_call(call) for call in calls_at(session.child.age_on(session.date))],
        "reported": [str(each.public_id) for each in reports],
        "spared": _spared(reports),
        "forbidden": [
            row.key for row in rows.values() if row.slot.revision.exercise.slug in forbidden
        ],
    }


def _call(call: Call) -> dict[str, Any]:
    regions = sorted(region.value for region in call.regions)
    return {"sign": call.sign.value, "text": call.first_to_do, "regions": regions}


def _spared(reports: Iterable[PainReport]) -> list[str]:
    """The regions that wait for a coach's answer: they matter in a session begun before."""
    waiting = (each.pain for each in reports if each.is_unanswered and each.spares)
    regions = (rule.region for pain in waiting for rule in pain.spares if rule.region)
    return sorted({region.value for region in regions})


def _with_targets(steps: Iterable[Step]) -> Iterator[tuple[Step, str]]:
    """Each step with the slot it belongs to; a rest is on the way to the next."""
    waiting: list[Step] = []
    for step in steps:
        waiting.append(step)
        if step.slot_key is not None:
            yield from ((each, step.slot_key) for each in waiting)
            waiting = []


def _step(step_and_slot: tuple[Step, str], rows: Mapping[str, SlotRow]) -> dict[str, Any]:
    step, slot_key = step_and_slot
    return {
        "kind": step.kind,
        "seconds": step.seconds,
        "part": step.part_key,
        "slot": rows[slot_key].key,
        "round": step.round,
        "rounds": step.rounds,
        "side": step.side,
    }


def _slot(row: SlotRow, notes: Mapping[int, tuple[str, ...]], pace: Pace) -> dict[str, Any]:
    slot = row.slot
    dose = dose_of(slot.revision, slot.prescription)
    told = _exercise(slot.revision, dose, pace)
    return told | {
        "amounts": list(row.amounts),
        "note": slot.note,
        "notes": list(notes.get(slot.revision.exercise_id, ())),
        "easier": _easier(slot, pace),
    }


def _easier(slot: AssignedSlot, pace: Pace) -> dict[str, Any] | None:
    easier = easier_of(slot)
    return _exercise(*easier, pace) if easier else None


def _exercise(revision: ExerciseRevision, dose: Dose, pace: Pace) -> dict[str, Any]:
    shown = Shown.of(revision, dose)
    on_clock = timed("", revision, dose)
    return {
        "name": revision.name,
        "cues": revision.cues,
        "needs": "; ".join(need.what for need in items_needed([revision])),
        "setup": revision.setup,
        "setUp": {
            "first": on_clock.set_up(pace, is_again=False),
            "again": on_clock.set_up(pace, is_again=True),
        },
        "watch": revision.watch,
        "stop": revision.stop,
        "caution": revision.caution,
        "dose": in_words(dose),
        "measure": dose.measure,
        "amount": dose.amount,
        "sides": dose.sides,
        "unit": dose.seconds_per_unit(),
        "phases": list(_phases(dose, shown)),
        "bouts": list(_bouts(on_clock, pace)),
        "spares": _spares(revision, dose),
        "photo": photo_of(revision),
        "figure": shown and {"left": shown.left, "right": shown.right, "held": shown.held_from},
    }


def _phases(dose: Dose, shown: Shown | None) -> Iterator[dict[str, Any]]:
    """A repetition's phases with their words and seconds, in the order in which it is drawn."""
    if dose.measure is Measure.REPETITIONS:
        for name, seconds in beats(dose, shown):
            yield {"word": WORDS.get(name, ""), "seconds": seconds}


def _bouts(on_clock: TimedSlot, pace: Pace) -> Iterator[dict[str, Any]]:
    """One round's own steps, by the clock that the whole session follows."""
    alone = TimedPart("", "", PartKind.STRAIGHT, 1, 0, (on_clock,))
    for step in timeline([alone], pace):
        if step.kind in {StepKind.WORK, StepKind.CHANGE_SIDE}:
            yield {"kind": step.kind, "seconds": step.seconds, "side": step.side}


def _spares(revision: ExerciseRevision, dose: Dose) -> list[str]:
    """The regions that, once sore, rule this exercise out for today."""
    exercise = FitExercise(
        slug="",
        name=revision.name,
        measure=dose.measure,
        amounts=amounts_of(revision),
        pattern=revision.pattern,
        contacts=float(revision.contacts),
        no_landing_because=revision.no_landing_because,
        loads=frozenset(Region(region) for region in revision.loads),
    )
    return [
        region.value
        for region in Region
        if Restriction(region, RestrictionKind.NO_LOADING).rules_out(exercise)
    ]
