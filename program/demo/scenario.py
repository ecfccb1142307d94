"""The invented club: who is in it and what its coaches write. Plain data, no database.

Everybody here is invented. The sessions are common practice for juniors: a warm-up first, three
pairs that leave each other's muscles alone, few landings, as much pull as push over the week.
"""

from dataclasses import dataclass
from typing import Final

AS_WRITTEN, EASIER, MEET = "as_written", "easier_where_needed", "meet_placement"


@dataclass(frozen=True)
class Line:
    """One exercise of a written session; `grows` is what each second week adds to the amount."""

    exercise: str
    amount: int
    rule: str = EASIER
    grows: int = 0


@dataclass(frozen=True)
class Section:
    name: str
    kind: str
    rest: int
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Day:
    """One session of the week. `weekday` counts from Monday, 0; the demo may turn the week so that
    the day it is opened has a session at home."""

    name: str
    weekday: int
    place: str
    warm_up: Section
    pairs: tuple[Section, ...]
    note: str = ""


@dataclass(frozen=True)
class Group:
    name: str
    ages: tuple[int, int]
    block: str
    aim: str
    days: tuple[Day, ...]


def warm_up(*lines: Line) -> Section:
    return Section("Warm-up", "warm_up", 15, lines)


def pair(name: str, *lines: Line) -> Section:
    return Section(name, "superset", 30, lines)


SPARROWS: Final = Group(
    "Sparrows",
    (7, 9),
    "Strong feet, long backs",
    "Quiet landings, a long back in every hinge, both sides the same.",
    (
        Day(
            "Bears and bridges",
            0,
            "home",
            warm_up(Line("march-and-turn", 15), Line("bird-dog", 6), Line("ankle-rock", 6)),
            (
                pair("Sit and push", Line("sit-to-stand", 8, MEET, 1), Line("knee-push", 6)),
                pair(
                    "Bridge and side", Line("heel-marching-bridge", 8), Line("knee-side-plank", 8)
                ),
                pair("Bear and freeze", Line("bear-march", 15), Line("snap-down", 4)),
            ),
            "Socks off if the floor is slippery.",
        ),
        Day(
            "Lanes and landings",
            2,
            "venue",
            warm_up(Line("lane-skip", 6), Line("open-book", 4), Line("star-reach", 6)),
            (
                pair("Step and row", Line("step-down", 6, MEET), Line("prone-w-pull", 8)),
                pair(
                    "Hop and hold", Line("bounce-bounce-freeze", 2), Line("dead-bug", 6, EASIER, 1)
                ),
                pair("Crab and tap", Line("crab-walk", 6), Line("wall-tap-hinge", 8)),
            ),
        ),
        Day(
            "Ropes and rows",
            4,
            "home",
            warm_up(Line("rope-bounce", 10), Line("seated-turn", 6), Line("heel-raise", 10)),
            (
                pair("Lunge and lift", Line("split-squat", 6, MEET), Line("prone-y-lift", 6)),
                pair("Slide and plank", Line("towel-slide-lower", 4), Line("plank", 10, EASIER, 2)),
                pair("Hinge and squeeze", Line("free-hinge", 8), Line("knee-squeeze", 6)),
            ),
        ),
    ),
)

SWIFTS: Final = Group(
    "Swifts",
    (10, 12),
    "Strong steps, quiet feet",
    "One leg at a time, down slowly; pull as much as push.",
    (
        Day(
            "Slow steps",
            0,
            "home",
            warm_up(Line("shadow-bounce", 10), Line("ninety-ninety", 6), Line("bear-march", 15)),
            (
                pair("Step and row", Line("step-down", 8, MEET, 1), Line("supported-row", 8)),
                pair("Curl and side", Line("towel-curl", 6), Line("side-plank", 10, EASIER, 2)),
                pair("Push and dead bug", Line("floor-push", 6, MEET), Line("dead-bug", 8)),
            ),
            "The step must not slide. The bottom stair is fine.",
        ),
        Day(
            "Hop, stick, hang",
            2,
            "venue",
            warm_up(Line("lane-skip", 8), Line("lunge-turn", 5), Line("ankle-rock", 6)),
            (
                pair("Land and hang", Line("leap-and-stick", 4, MEET), Line("bar-hang", 10)),
                pair("Lunge and tap", Line("reverse-lunge", 10), Line("shoulder-tap-plank", 8)),
                pair("Hinge and crab", Line("kickstand-hinge", 8, MEET), Line("crab-walk", 6)),
            ),
        ),
        Day(
            "Ropes and ramps",
            4,
            "home",
            warm_up(Line("rope-bounce", 10), Line("open-book", 6), Line("two-up-one-down", 6)),
            (
                pair("Squat and pull", Line("goblet-squat", 8, MEET, 1), Line("towel-door-row", 8)),
                pair("Crawl and squeeze", Line("bear-crawl-back", 6), Line("inner-leg-lift", 8)),
                pair("Wide and tall", Line("plank", 15, EASIER, 3), Line("snap-down", 5)),
            ),
        ),
    ),
)

KESTRELS: Final = Group(
    "Kestrels",
    (13, 15),
    "Own your landings",
    "Land soft on one leg, pull your own weight, keep hips level.",
    (
        Day(
            "One leg, level hips",
            0,
            "home",
            warm_up(
                Line("shadow-running-step", 15), Line("squat-reach", 6), Line("bear-side-crawl", 15)
            ),
            (
                pair(
                    "Split and row",
                    Line("rear-foot-raised-split-squat", 6, MEET),
                    Line("supported-row", 10),
                ),
                pair("Slide and side", Line("one-leg-towel-slide", 4), Line("side-plank", 15)),
                pair("Push and saw", Line("slow-push", 5, MEET), Line("body-saw", 6)),
            ),
        ),
        Day(
            "Bound and hang",
            2,
            "venue",
            warm_up(Line("lane-skip", 10), Line("lunge-turn", 6), Line("bear-crawl", 12)),
            (
                pair(
                    "Bound and hang", Line("skater-bound", 4, MEET), Line("chin-lowering", 3, MEET)
                ),
                pair("Hinge and hold", Line("one-leg-deadlift", 6, MEET), Line("long-plank", 12)),
                pair("Hop and dome", Line("hop-and-stick", 3, MEET), Line("foot-dome", 8)),
            ),
        ),
        Day(
            "Ropes and rows",
            4,
            "home",
            warm_up(
                Line("rope-running-step", 15), Line("hip-flexor-hold", 15), Line("arm-slide", 8)
            ),
            (
                pair("Skate and row", Line("skater-squat", 5, MEET, 1), Line("towel-door-row", 10)),
                pair("Curl and reach", Line("towel-curl", 8), Line("adductor-plank-knee", 10)),
                pair(
                    "Calf and brace", Line("edge-heel-raise", 8), Line("straight-leg-dead-bug", 8)
                ),
            ),
        ),
    ),
)

GROUPS: Final = (SPARROWS, SWIFTS, KESTRELS)

ROUNDS_BY_WEEK: Final = (2, 2, 3, 2, 3, 3, 3, 2)
"""Rounds of the pairs in each week of a block: up, and lighter every fourth week."""

WARM_UP_ROUNDS_BY_WEEK: Final = (3, 3, 2, 3, 2, 2, 2, 3)
"""Rounds of the warm-up: fewer where the pairs take longest, so that half an hour is enough, and a
little more where much has to be set up."""

HEAD: Final = ("Ilse Brandal", "head@fledge.example")
COACHES: Final = (
    ("Tomas Ferreiro", "coach@fledge.example", ("Sparrows", "Swifts")),
    ("Adaeze Nwosu", "adaeze@fledge.example", ("Sparrows",)),
    ("Priya Raman", "priya@fledge.example", ("Swifts",)),
    ("Joonas Lehto", "joonas@fledge.example", ("Kestrels",)),
)

GIVEN_NAMES: Final = (
    "Aiko",
    "Amara",
    "Anouk",
    "Arlo",
    "Beatriz",
    "Bilal",
    "Bo",
    "Carys",
    "Casper",
    "Chidi",
    "Dalia",
    "Davi",
    "Edda",
    "Elif",
    "Emre",
    "Esme",
    "Fenna",
    "Finn",
    "Freya",
    "Gus",
    "Hana",
    "Hugo",
    "Ida",
    "Idris",
    "Inés",
    "Isak",
    "Ivo",
    "Jaya",
    "Jonas",
    "Juno",
    "Kaia",
    "Kofi",
    "Lasse",
    "Leila",
    "Lina",
    "Lumi",
    "Mads",
    "Maeve",
    "Malik",
    "Marta",
    "Mika",
    "Mira",
    "Nadia",
    "Nils",
    "Noor",
    "Nuno",
    "Odalys",
    "Oskar",
    "Pia",
    "Quim",
    "Rafi",
    "Runa",
    "Sami",
    "Senna",
    "Signe",
    "Sol",
    "Tariq",
    "Teo",
    "Tuva",
    "Una",
    "Vera",
    "Wim",
    "Yara",
    "Yusuf",
    "Zadie",
    "Zeno",
)

FULL_HOME: Final = frozenset(
    [
        "wall",
        "dining-chair",
        "sofa",
        "stairs",
        "sturdy-table",
        "towel",
        "socks",
        "mat",
        "doorway",
        "backpack",
        "books",
        "water-bottle",
        "ball",
        "cushion",
        "broomstick",
        "floor-line",
        "skipping-rope",
        "smooth-floor",
        "carpet",
        "mat-space",
        "lane-space",
        "high-space",
        "low-step",
        "plastic-lid",
    ]
)
HOMES: Final = (
    FULL_HOME,
    FULL_HOME - {"smooth-floor"},
    FULL_HOME - {"carpet", "plastic-lid", "stairs"},
    FULL_HOME - {"skipping-rope", "broomstick"},
    FULL_HOME - {"lane-space", "high-space", "sturdy-table"},
    FULL_HOME - {"stairs", "low-step", "smooth-floor", "backpack"},
)
"""Homes: everything, no tiles, tiles only, no rope, a small room, a bare flat."""

VENUE_ITEMS: Final = frozenset(
    [
        "wall",
        "bench",
        "box",
        "cones",
        "low-hurdles",
        "hanging-bar",
        "medicine-ball",
        "sliders",
        "mat",
        "floor-line",
        "smooth-floor",
        "mat-space",
        "lane-space",
        "high-space",
        "water-bottle",
        "low-step",
        "towel",
    ]
)
