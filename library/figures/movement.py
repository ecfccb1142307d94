"""A movement file read into poses, phases, props and the angles that must hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from library.figures.measures import MEASURES
from library.figures.pose import Pose
from library.figures.posing import base_poses, read_pose
from library.figures.props import Prop, read_prop
from library.figures.source import MovementError, Place, Source
from library.tempo import PHASES as TEMPO_PHASES
from library.tempo import Tempo

FOLDER = Path(__file__).with_name("movements")
VIEWS = ("side", "corner", "front", "raised", "above")

# The four numbers of a tempo are phases, in their order; the others keep their own seconds.
PHASES = (*TEMPO_PHASES, "hold", "bout", "flight", "landing", "reset")
LONGEST_PHASE = 20.0
KEYS = (
    "title", "describe", "view", "tempo", "start", "mirror", "travel", "close", "prop",
    "pose", "phase", "angle",
)  # fmt: skip


@dataclass(frozen=True)
class Phase:
    """A named stretch of the movement; `through` are the poses it passes and ends in.

    An empty `through` keeps the pose before it. `shares` are the fractions of the phase at which
    each pose is met. `part` is the part of a tempo that the phase is timed by, "" when none is.
    """

    name: str
    seconds: float
    through: tuple[str, ...] = ()
    shares: tuple[float, ...] = ()
    part: str = ""


@dataclass(frozen=True)
class KeyAngle:
    """An angle that must be `degrees` within `within` in a named pose (common practice)."""

    pose: str
    measure: str
    degrees: float
    within: float


@dataclass(frozen=True)
class Movement:
    """One exercise's figure.

    `travel` is how far (x, z) one loop moves the figure along the floor; `mirror` plays the phases
    once as written and once with the sides exchanged. `close` is a close-up: the middle of the
    picture (x, y) and how wide it is.
    """

    slug: str
    title: str
    describe: str
    view: str
    phases: tuple[Phase, ...]
    poses: Mapping[str, Pose]
    start: str
    props: tuple[Prop, ...] = ()
    angles: tuple[KeyAngle, ...] = ()
    tempo: str = ""
    mirror: bool = False
    travel: tuple[float, float] = (0.0, 0.0)
    close: tuple[float, float, float] | None = None
    text: str = ""

    def __hash__(self) -> int:
        return hash((self.slug, self.text))


def slugs() -> list[str]:
    """The slugs of all movement files, sorted."""
    return sorted(file.stem for file in FOLDER.glob("*.toml"))


def drawn(slug: str, own: str = "") -> Movement | None:
    """What is drawn for an exercise: the movement `own` (a file's text), else that of its file.

    None without a file, and for a bad movement.
    """
    try:
        return read_own(slug, own) if own else load(slug)
    except (KeyError, MovementError):
        return None


@lru_cache(maxsize=512)
def read_own(slug: str, text: str) -> Movement:
    """The movement of a text that is not in our folder. Raises MovementError for a bad one."""
    return read_movement(Source.parse(f"{slug}.toml", text))


@cache
def load(slug: str) -> Movement:
    """The movement of an exercise. Raises KeyError without a file, MovementError for a bad one."""
    if slug not in slugs():
        raise KeyError(slug)
    return read_movement(Source.read(FOLDER / f"{slug}.toml"))


def read_movement(source: Source) -> Movement:
    """A movement from its text. Raises MovementError naming file, line and what is allowed."""
    data = source.table((), source.data, KEYS)
    for name in ("title", "describe", "pose", "phase", "angle"):
        if name not in data:
            raise source.error((), f"{name} is missing; every movement has one")
    poses = _read_poses(source, data["pose"])
    start = source.choice(("start",), data.get("start", "start"), poses)
    mirror = data.get("mirror", False)
    if not isinstance(mirror, bool):
        raise source.error(("mirror",), "mirror must be true or false")
    phases = _read_phases(source, data["phase"], poses, start)
    travel = source.numbers(("travel",), data.get("travel", [0, 0]), (2,))
    return Movement(
        slug=Path(source.path).stem,
        title=source.text_value(("title",), data["title"]),
        describe=source.text_value(("describe",), data["describe"]),
        view=source.choice(("view",), data.get("view", "side"), VIEWS),
        phases=phases,
        poses=poses,
        start=start,
        props=tuple(
            read_prop(source, ("prop", number), table)
            for number, table in enumerate(_tables(source, data, "prop"))
        ),
        angles=tuple(
            _read_angle(source, ("angle", number), table, poses)
            for number, table in enumerate(_tables(source, data, "angle"))
        ),
        tempo=_read_tempo(source, data.get("tempo", "")),
        mirror=mirror,
        travel=(travel[0], travel[1]),
        close=_read_close(source, data),
        text=source.text,
    )


def _tables(source: Source, data: Mapping[str, Any], name: str) -> list[Any]:
    tables = data.get(name, [])
    if not isinstance(tables, list):
        raise source.error((name,), f"{name} is written as [[{name}]]")
    return tables


def _read_close(source: Source, data: Mapping[str, Any]) -> tuple[float, float, float] | None:
    if "close" not in data:
        return None
    x, y, width = source.numbers(("close",), data["close"], (3,))
    return x, y, source.number(("close",), width, 20, 400)


def _read_poses(source: Source, tables: object) -> dict[str, Pose]:
    if not isinstance(tables, dict) or len(tables) < 2:
        raise source.error(("pose",), "a movement needs at least two key poses")
    known = dict(base_poses())
    own: dict[str, Pose] = {}
    for name, table in tables.items():
        own[name] = known[name] = read_pose(source, ("pose", name), table, known)
    return own


def _read_phases(
    source: Source, tables: object, poses: Mapping[str, Pose], start: str
) -> tuple[Phase, ...]:
    if not isinstance(tables, list) or not tables:
        raise source.error(("phase",), "a movement needs at least one [[phase]]")
    phases = [
        _read_phase(source, ("phase", number), table, poses) for number, table in enumerate(tables)
    ]
    last = [phase.through[-1] for phase in phases if phase.through][-1:]
    if last != [start]:
        place = ("phase", len(phases) - 1)
        raise source.error(place, f"the last moving phase must come back to {start!r}")
    return tuple(phases)


def _read_phase(source: Source, place: Place, value: object, poses: Mapping[str, Pose]) -> Phase:
    table = source.table(place, value, ("name", "seconds", "to", "shares", "part"))
    name = source.choice((*place, "name"), table.get("name"), PHASES)
    if "seconds" not in table:
        raise source.error(place, f"the {name} phase has no duration; give seconds above 0")
    seconds = source.number((*place, "seconds"), table["seconds"], 0.05, LONGEST_PHASE)
    to = table.get("to", [])
    through = [to] if isinstance(to, str) else to
    if not isinstance(through, list):
        raise source.error((*place, "to"), "to must be a pose or a list of poses")
    for pose in through:
        source.choice((*place, "to"), pose, poses)
    count = len(through)
    shares = [(number + 1) / count for number in range(count)]
    if "shares" in table:
        shares = source.numbers((*place, "shares"), table["shares"], (count,))
        if shares != sorted(set(shares)) or shares[:1] <= [0] or shares[-1:] != [1]:
            raise source.error((*place, "shares"), "shares must rise from above 0 to 1")
    part = name if name in TEMPO_PHASES else ""
    if "part" in table:
        part = source.choice((*place, "part"), table["part"], TEMPO_PHASES)
    return Phase(name, seconds, tuple(through), tuple(shares), part)


def _read_angle(source: Source, place: Place, value: object, poses: Mapping[str, Pose]) -> KeyAngle:
    table = source.table(place, value, ("pose", "measure", "is", "within"))
    return KeyAngle(
        source.choice((*place, "pose"), table.get("pose"), poses),
        source.choice((*place, "measure"), table.get("measure"), MEASURES),
        source.number((*place, "is"), table.get("is"), -180, 180),
        source.number((*place, "within"), table.get("within", 5), 0.5, 15),
    )


def _read_tempo(source: Source, value: Any) -> str:
    if value:
        try:
            return str(Tempo.parse(str(value)))
        except ValueError as problem:
            raise source.error(("tempo",), str(problem)) from problem
    return ""


__all__ = ["KeyAngle", "Movement", "MovementError", "Phase", "load", "read_movement", "slugs"]
