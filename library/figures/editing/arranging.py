"""The order of a movement's key poses, how long each stretch lasts, and its things: to be changed.

A stretch is a phase; where the tempo says how long it lasts, its own seconds do not count.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from library.figures import body
from library.figures.editing.sliders import SECONDS, Slider, used_poses
from library.figures.motion import key_skeletons
from library.figures.movement import LONGEST_PHASE, Movement, Phase
from library.figures.props import CARRIED, CORDS, Prop
from library.figures.support import TOUCH
from library.figures.writing import Table

PHASE_WORDS: Mapping[str, str] = {
    "lowering": "Lowering", "pause": "Pause after lowering", "lifting": "Lifting",
    "top": "Pause after lifting", "hold": "Hold", "bout": "On and on", "flight": "In the air",
    "landing": "Landing", "reset": "Getting back",
}  # fmt: skip
SHORTEST, USUALLY_LONGEST = 0.05, 8.0

# Things of one row have the same extents, or the same place at the body, and stand in for another.
EXCHANGED = (
    ("seat", "chair", "step", "box", "sofa", "cushion", "books", "table"),
    ("cone", "hurdle"),
    ("backpack", "ball", "bottle", "book"),
    ("towel", "slider"),
)
TAKEN_OUT = "none"


@dataclass(frozen=True)
class Stretch:
    """A phase to be changed.

    `stops` are the poses that it passes, without the last one where that is the start again
    (`comes_back`); none where it keeps still. `seconds` is None where the tempo says how long.
    """

    number: int
    title: str
    seconds: Slider | None
    stops: tuple[str, ...]
    comes_back: bool


@dataclass(frozen=True)
class Thing:
    """A prop, what may stand in its place, and whether the body needs it where it is."""

    number: int
    kind: str
    others: tuple[str, ...]
    needed: bool


@dataclass(frozen=True)
class Arrangement:
    """What is arranged anew; empty where a movement stays as it is.

    `seconds` are by phase, `stops` by phase and place in it, `kinds` by prop, TAKEN_OUT for none.
    """

    tempo: str = ""
    seconds: Mapping[int, float] = field(default_factory=dict)
    stops: Mapping[tuple[int, int], str] = field(default_factory=dict)
    kinds: Mapping[int, str] = field(default_factory=dict)


def stretches(movement: Movement) -> list[Stretch]:
    moving = [number for number, phase in enumerate(movement.phases) if phase.through]
    return [
        _stretch(movement, number, phase, comes_back=number == moving[-1])
        for number, phase in enumerate(movement.phases)
    ]


def _stretch(movement: Movement, number: int, phase: Phase, *, comes_back: bool) -> Stretch:
    title = f"{number + 1}. {PHASE_WORDS[phase.name]}"
    seconds = None
    if not movement.tempo or phase.name != phase.part:
        longest = min(max(USUALLY_LONGEST, phase.seconds), LONGEST_PHASE)
        seconds = Slider(("seconds",), "Lasts", SHORTEST, longest, phase.seconds, SECONDS)
    stops = phase.through[:-1] if comes_back else phase.through
    return Stretch(number, title, seconds, stops, comes_back)


def things(movement: Movement) -> list[Thing]:
    return [
        Thing(number, prop.kind, tuple(_others(prop)), _is_needed(movement, prop))
        for number, prop in enumerate(movement.props)
    ]


def _others(prop: Prop) -> Iterator[str]:
    for kinds in EXCHANGED:
        if prop.kind in kinds:
            yield from (kind for kind in kinds if kind != prop.kind)


def _is_needed(movement: Movement, prop: Prop) -> bool:
    """Whether the body hangs from it, or touches it above the floor in a key pose."""
    if prop.kind in CARRIED or prop.kind in CORDS:
        return prop.kind == "cord"
    skeletons = key_skeletons(movement)
    for name in used_poses(movement):
        points = [*skeletons[name].points.items()]
        points += [(each.landmark, each.at) for each in skeletons[name].contacts]
        for landmark, at in points:
            radius = body.RADIUS.get(landmark.rpartition(".")[2], body.RADIUS["wrist"])
            if at[1] - radius > TOUCH and prop.depth_of(at, radius + TOUCH) > 0:
                return True
    return False


def arrange(tables: Table, arrangement: Arrangement) -> None:
    """Write an arrangement into the tables of a movement."""
    if arrangement.tempo:
        tables["tempo"] = arrangement.tempo
    for number, seconds in arrangement.seconds.items():
        tables["phase"][number]["seconds"] = seconds
    for (number, place), pose in arrangement.stops.items():
        phase = tables["phase"][number]
        stops = [phase["to"]] if isinstance(phase["to"], str) else list(phase["to"])
        stops[place] = pose
        phase["to"] = stops if len(stops) > 1 else pose
    if arrangement.kinds:
        kinds = [arrangement.kinds.get(n, prop["kind"]) for n, prop in enumerate(tables["prop"])]
        tables["prop"] = [
            prop | {"kind": kind}
            for prop, kind in zip(tables["prop"], kinds, strict=True)
            if kind != TAKEN_OUT
        ]
