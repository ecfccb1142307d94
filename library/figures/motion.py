"""Playing a movement: key poses on a clock, and the skeleton at any instant between them."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby
from math import isclose

from library.figures.movement import Movement, Phase
from library.figures.pose import Pose, compose
from library.figures.skeleton import Skeleton
from library.tempo import PHASES, Tempo

FRAMES_PER_SECOND = 30
GRAVITY = 676.0  # 9.81 m/s2 in hundredths of a 1.45 m stature
STEADY = 0.01
SHORTEST_MOVE = 0.15  # seconds, however little a tempo leaves for it

# Phases that begin and end at rest. A bout flows on; flights are joined at take-off and landing.
RESTING = ("pause", "top", "hold", "lowering", "lifting", "reset", "landing")


@dataclass(frozen=True)
class Timed:
    """A phase on the clock."""

    name: str
    start: float
    seconds: float

    @property
    def end(self) -> float:
        return self.start + self.seconds


@dataclass(frozen=True)
class Key:
    """A pose at an instant; `into` and `out_of` are the phases that meet there."""

    at: float
    name: str
    pose: Pose
    into: str
    out_of: str


class Timeline:
    """A movement at a tempo: its phases, its keys and the skeleton at any second of the loop."""

    def __init__(self, movement: Movement, tempo: str | None = None) -> None:
        self.movement = movement
        durations = phase_seconds(movement, tempo)
        self.phases: list[Timed] = []
        self.keys: list[Key] = []
        self._still: dict[int, Skeleton] = {}  # the one skeleton of a phase without movement
        self._durations = durations
        self._add_key(0.0, movement.start, 0, durations[-1][0].name, durations[0][0].name)
        self.seconds = 0.0
        for turn in range(2 if movement.mirror else 1):
            self._play_round(turn)

    def _play_round(self, turn: int) -> None:
        """Add one pass through the phases; it closes on the start pose of the next round."""
        durations = self._durations
        closing = max(number for number, (phase, _) in enumerate(durations) if phase.through)
        for position, (phase, seconds) in enumerate(durations):
            following = durations[(position + 1) % len(durations)][0].name
            self.phases.append(Timed(phase.name, self.seconds, seconds))
            stops = zip(phase.shares, phase.through, strict=True)
            for share, name in stops if phase.through else [(1.0, self.keys[-1].name)]:
                closed = position > closing or (position == closing and share == 1)
                out_of = following if share == 1 else phase.name
                at = self.seconds + share * seconds
                self._add_key(at, name, turn + closed, phase.name, out_of)
            self.seconds += seconds

    def _add_key(self, at: float, name: str, turn: int, into: str, out_of: str) -> None:
        pose = self.movement.poses[name]
        if self.movement.mirror and turn % 2:
            pose = pose.mirrored()
        share = turn / (2 if self.movement.mirror else 1)
        x, z = self.movement.travel
        pose = pose.moved(x * share, z * share) if turn else pose
        self.keys.append(Key(at, name, pose, into, out_of))

    @cached_property
    def _times(self) -> list[float]:
        return [key.at for key in self.keys]

    @cached_property
    def _slopes(self) -> list[tuple[dict[str, float], dict[str, float]]]:
        """For every key, the speed of each channel on its left and on its right."""
        return [self._slopes_at(position) for position in range(len(self.keys))]

    def _slopes_at(self, position: int) -> tuple[dict[str, float], dict[str, float]]:
        key, count = self.keys[position], len(self.keys)
        before = self.keys[position - 1] if position else None
        after = self.keys[position + 1] if position + 1 < count else None
        if before is None or after is None:
            first, last = self.keys[1], self.keys[-2]
            entering = _speeds(last, self.keys[-1])
            leaving = _speeds(self.keys[0], first)
        else:
            entering, leaving = _speeds(before, key), _speeds(key, after)
        if "flight" in (key.into, key.out_of) and key.into != key.out_of:
            return _corner(entering, leaving, key)
        if key.into in RESTING and key.out_of in RESTING and not _passing(key):
            return {}, {}
        if "pause" in (key.into, key.out_of) or "hold" in (key.into, key.out_of):
            return {}, {}
        smooth = {
            name: _monotone(speed, leaving.get(name, 0.0)) for name, speed in entering.items()
        }
        return smooth, smooth

    def at(self, seconds: float) -> Skeleton:
        """The skeleton at a second of the loop (0 to `seconds`)."""
        position = min(max(bisect_right(self._times, seconds + 1e-9) - 1, 0), len(self.keys) - 2)
        start, end = self.keys[position], self.keys[position + 1]
        if start.pose == end.pose and position in self._still:
            return replace(self._still[position], seconds=seconds)
        share = (seconds - start.at) / (end.at - start.at)
        channels = self._blend(position, share)
        in_flight = start.out_of == "flight"
        holds = {} if in_flight else _kept(start.pose.holds, end.pose.holds)
        anchor = start.pose.anchor if start.pose.anchor == end.pose.anchor else ""
        if in_flight:
            anchor = ""
            channels |= self._free_fall(seconds)
        skeleton = compose(channels, holds, anchor)
        steady = _steady(start.pose, end.pose)
        contacts = tuple(
            replace(contact, steady=_steadily(contact.landmark, anchor, steady))
            for contact in skeleton.contacts
        )
        phase = self.phase_at(seconds)
        skeleton = replace(skeleton, contacts=contacts, phase=phase, seconds=seconds)
        if start.pose == end.pose:
            self._still[position] = skeleton
        return skeleton

    def phase_at(self, seconds: float) -> str:
        for phase in self.phases:
            if seconds < phase.end - 1e-9:
                return phase.name
        return self.phases[-1].name

    def _blend(self, position: int, share: float) -> dict[str, float]:
        start, end = self.keys[position], self.keys[position + 1]
        span = end.at - start.at
        leaving, arriving = self._slopes[position][1], self._slopes[position + 1][0]
        channels = {}
        for name, value in start.pose.channels.items():
            if name not in end.pose.channels:
                channels[name] = value
                continue
            channels[name] = _hermite(
                value,
                end.pose.channels[name],
                leaving.get(name, 0.0) * span,
                arriving.get(name, 0.0) * span,
                share,
            )
        for name, value in end.pose.channels.items():
            if name.endswith("@lift") and name[:-4] + "x" in channels:
                channels[name[:-4] + "y"] += value * 16 * (share * (1 - share)) ** 2
        return channels

    def _free_fall(self, seconds: float) -> dict[str, float]:
        """Where the hips are in a flight: steady along the floor, and falling freely."""
        phase = next(p for p in self.phases if p.name == "flight" and p.end > seconds - 1e-9)
        leave, land = (
            next(k for k in self.keys if abs(k.at - at) < 1e-9).pose.channels
            for at in (phase.start, phase.end)
        )
        share = (seconds - phase.start) / phase.seconds
        hips = {axis: leave[axis] + (land[axis] - leave[axis]) * share for axis in "xyz"}
        hips["y"] += GRAVITY / 2 * phase.seconds**2 * share * (1 - share)
        return hips


def phase_seconds(movement: Movement, tempo: str | None) -> list[tuple[Phase, float]]:
    """The movement's phases with their durations at this tempo, in order.

    A run of phases of one part of the tempo takes that part's seconds: those named by it stretch,
    flights and others keep their own. A pause of 0 is left out; a pause the movement does not have
    is put in after its lowering or lifting. All of it lasts exactly as many repetitions as it
    draws: what a tempo leaves no time for is taken from the others.

    Raises ValueError for a tempo that cannot be read.
    """
    tempo = movement.tempo if tempo is None else tempo
    if not tempo or not any(phase.part for phase in movement.phases):
        return [(phase, phase.seconds) for phase in movement.phases]
    read = Tempo.parse(tempo)
    timed = _timed(movement, dict(zip(PHASES, read.durations(), strict=True)))
    return _adding_up_to(_repetitions(movement) * read.seconds(), timed)


def _adding_up_to(due: float, timed: list[tuple[Phase, float]]) -> list[tuple[Phase, float]]:
    """These phases within `due` seconds: flights and landings keep theirs if others can yield."""
    lasts = sum(seconds for _, seconds in timed)
    if isclose(lasts, due):
        return timed
    own = [(phase, seconds) for phase, seconds in timed if phase.name == phase.part]
    stretching = sum(seconds for _, seconds in own)
    left = due - (lasts - stretching)
    if not own or left < len(own) * SHORTEST_MOVE:
        return [(phase, seconds * due / lasts) for phase, seconds in timed]
    share = left / stretching
    return [
        (phase, seconds * (share if phase.name == phase.part else 1)) for phase, seconds in timed
    ]


def repetition(movement: Movement, tempo: str) -> list[tuple[str, float]]:
    """One repetition in the order in which it is drawn: each part of the tempo and its seconds.

    Empty where no phase is timed by a tempo. A part is "" for phases that belong to none.
    """
    if not any(phase.part for phase in movement.phases):
        return []
    timed = phase_seconds(movement, tempo)
    parts: list[tuple[str, float]] = []
    for part, run in groupby(timed, key=lambda each: each[0].part):
        if part in dict(parts):
            break
        parts.append((part, sum(seconds for _, seconds in run)))
    return parts


def held_from(movement: Movement) -> float | None:
    """The second of the loop from which the figure holds; None where it does not hold just once."""
    holds = [phase.start for phase in Timeline(movement).phases if phase.name == "hold"]
    return holds[0] if len(holds) == 1 else None


def repetitions_in_a_loop(movement: Movement) -> int:
    """How many repetitions are drawn before it begins anew; 0 where none is timed by a tempo."""
    if not any(phase.part for phase in movement.phases):
        return 0
    return _repetitions(movement) * (2 if movement.mirror else 1)


def _repetitions(movement: Movement) -> int:
    """How often the phases of a movement go through the tempo."""
    runs = [run[0].part for run in _runs(movement.phases) if run[0].part]
    return max(runs.count(part) for part in runs)


def _timed(movement: Movement, named: Mapping[str, float]) -> list[tuple[Phase, float]]:
    """The phases with their seconds, before those are made to add up."""
    parts = {phase.part for phase in movement.phases}
    timed: list[tuple[Phase, float]] = []
    for run in _runs(movement.phases):
        part = run[0].part
        stretch = _stretch(run, named[part]) if part else 1.0
        for phase in run:
            seconds = phase.seconds * (stretch if phase.name == part else 1)
            if seconds > 0:
                timed.append((phase, seconds))
        rest = {"lowering": "pause", "lifting": "top"}.get(part, "")
        if rest and rest not in parts and named[rest] > 0:
            timed.append((Phase(rest, named[rest], part=rest), named[rest]))
    return timed


def _runs(phases: tuple[Phase, ...]) -> list[list[Phase]]:
    """Neighbouring phases of the same part of a tempo, together."""
    return [list(run) for _, run in groupby(phases, key=lambda phase: phase.part)]


def _stretch(run: list[Phase], seconds: float) -> float:
    """What the seconds of the phases named by the run's part of the tempo are multiplied with."""
    own = [phase for phase in run if phase.name == phase.part]
    fixed = sum(phase.seconds for phase in run if phase.name != phase.part)
    least = SHORTEST_MOVE if any(phase.through for phase in own) else 0.0
    return max(seconds - fixed, least) / (sum(phase.seconds for phase in own) or 1.0)


def frames(
    movement: Movement, tempo: str | None = None, fps: int = FRAMES_PER_SECOND
) -> list[Skeleton]:
    """The skeletons of one loop at `fps` a second, the first at 0 and none at the very end."""
    timeline = Timeline(movement, tempo)
    count = max(2, round(timeline.seconds * fps))
    return [timeline.at(timeline.seconds * number / count) for number in range(count)]


def key_skeletons(movement: Movement) -> dict[str, Skeleton]:
    """The skeleton of every key pose, by name."""
    return {
        name: compose(pose.channels, pose.holds, pose.anchor)
        for name, pose in movement.poses.items()
    }


def _speeds(start: Key, end: Key) -> dict[str, float]:
    span = end.at - start.at
    if span <= 0:
        return {}
    first, second = start.pose.channels, end.pose.channels
    return {name: (second[name] - first[name]) / span for name in first if name in second}


def _passing(key: Key) -> bool:
    """Whether a phase runs straight through this key."""
    return key.into == key.out_of


def _monotone(before: float, after: float) -> float:
    """A slope that never overshoots (Fritsch and Carlson 1980, harmonic mean)."""
    return 0.0 if before * after <= 0 else 2 * before * after / (before + after)


def _corner(
    entering: Mapping[str, float], leaving: Mapping[str, float], key: Key
) -> tuple[dict[str, float], dict[str, float]]:
    """At take-off the body is still speeding up; at landing it has yet to slow down."""
    if key.out_of == "flight":
        return {name: 2 * speed for name, speed in entering.items()}, dict(leaving)
    return dict(entering), {name: 2 * speed for name, speed in leaving.items()}


def _hermite(start: float, end: float, leaving: float, arriving: float, share: float) -> float:
    squared, cubed = share * share, share * share * share
    return (
        start * (2 * cubed - 3 * squared + 1)
        + leaving * (cubed - 2 * squared + share)
        + end * (3 * squared - 2 * cubed)
        + arriving * (cubed - squared)
    )


def _kept(first: Mapping[str, str], second: Mapping[str, str]) -> dict[str, str]:
    return {limb: kind for limb, kind in first.items() if second.get(limb) == kind}


def _steady(first: Pose, second: Pose) -> set[str]:
    """The limbs (and "anchor") held at one place from the first pose to the second."""
    steady = set()
    for name in [*first.holds, "anchor"]:
        places = [f"{name}@{axis}" for axis in "xyz"]
        if all(
            place in first.channels
            and not second.channels.get(f"{name}@lift")
            and place in second.channels
            and abs(first.channels[place] - second.channels[place]) < STEADY
            for place in places
        ):
            steady.add(name)
    return steady


def _steadily(landmark: str, anchor: str, steady: set[str]) -> bool:
    if landmark == anchor:
        return "anchor" in steady
    side, _, part = landmark.partition(".")
    limb = "leg" if part in ("heel", "ball", "toe") else "arm"
    return f"{side}.{limb}" in steady
