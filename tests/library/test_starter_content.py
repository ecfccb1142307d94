"""What a coach, a family and a physiotherapist may rely on in every file of the starter library.

The content is ours, written from knowledge of the trade; doses follow common practice for juniors.
"""

import json
import re
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import networkx as nx
import pytest
from jsonschema import Draft202012Validator

from library.landing import LANDING_PATTERNS, AsWritten, Unsaid, unsaid

STARTER = Path(__file__).resolve().parents[2] / "library" / "starter"
SCHEMA: dict[str, Any] = json.loads((STARTER / "schema.json").read_text(encoding="utf-8"))
ITEM_SCHEMA = {**SCHEMA["$defs"]["item_file"], "$defs": SCHEMA["$defs"]}
ITEM_FILE = "items.toml"
PATTERNS = set(SCHEMA["properties"]["pathway"]["properties"]["pattern"]["enum"])
NUMBER = re.compile(
    r"\d|\b(one|two|three|four|five|six|seven|eight|nine|ten|twelve|fifteen|twenty)\b",
    re.IGNORECASE,
)


def parsed(name: str) -> dict[str, Any]:
    return tomllib.loads((STARTER / name).read_text(encoding="utf-8"))


PATHWAY_FILES = {
    path.name: parsed(path.name)
    for path in sorted(STARTER.glob("*.toml"))
    if path.name != ITEM_FILE
}
FLOORS = {item["slug"] for item in parsed(ITEM_FILE)["item"] if item["kind"] == "floor"}
EXERCISES = [
    (f"{name}: {exercise.get('slug', position)}", exercise)
    for name, data in PATHWAY_FILES.items()
    for position, exercise in enumerate(data["exercise"])
]
each_file = pytest.mark.parametrize("name", PATHWAY_FILES)


def complaints(schema: dict[str, Any], data: dict[str, Any]) -> list[str]:
    return [
        f"{'/'.join(map(str, error.absolute_path))}: {error.message}"
        for error in Draft202012Validator(schema).iter_errors(data)
    ]


def graph_of(data: dict[str, Any]) -> nx.DiGraph:
    graph = nx.DiGraph()
    graph.add_edges_from((step["easier"], step["harder"]) for step in data["step"])
    return graph


def repeated(texts: Iterator[str]) -> list[str]:
    """Texts that occur more than once, blind to capitals and punctuation."""
    counts = Counter(re.sub(r"\W+", " ", text).strip().lower() for text in texts)
    return [text for text, count in counts.items() if count > 1]


def test_the_schema_is_itself_valid() -> None:
    Draft202012Validator.check_schema(SCHEMA)


def test_the_items_follow_the_schema_and_are_listed_once() -> None:
    items = parsed(ITEM_FILE)
    assert complaints(ITEM_SCHEMA, items) == []
    assert repeated(item["slug"] for item in items["item"]) == []
    assert repeated(item["name"] for item in items["item"]) == []


@each_file
def test_a_pathway_file_follows_the_schema(name: str) -> None:
    assert complaints(SCHEMA, PATHWAY_FILES[name]) == []


def test_the_library_has_a_pathway_for_every_pattern_and_at_least_eighty_exercises() -> None:
    assert {data["pathway"]["pattern"] for data in PATHWAY_FILES.values()} == PATTERNS
    assert len(EXERCISES) >= 80


@each_file
def test_a_pathway_holds_at_least_seven_exercises_of_the_pattern_it_is_named_after(
    name: str,
) -> None:
    assert len(PATHWAY_FILES[name]["exercise"]) >= 7
    assert f"{PATHWAY_FILES[name]['pathway']['pattern']}.toml" == name


def test_no_two_exercises_or_pathways_share_a_slug_or_a_name() -> None:
    for field in ("slug", "name"):
        assert repeated(exercise[field] for _, exercise in EXERCISES) == []
        assert repeated(data["pathway"][field] for data in PATHWAY_FILES.values()) == []


@pytest.mark.parametrize("field", ["plain", "setup", "feel", "stop"])
def test_no_sentence_is_copied_from_another_exercise(field: str) -> None:
    assert repeated(exercise[field] for _, exercise in EXERCISES) == []


def test_no_cue_or_correction_is_said_twice_in_the_whole_library() -> None:
    cues = [cue for _, exercise in EXERCISES for cue in exercise["cues"]]
    faults = [fault for _, exercise in EXERCISES for fault in exercise["faults"]]
    assert repeated(iter(cues + [fault["say"] for fault in faults])) == []
    assert repeated(fault["see"] for fault in faults) == []


def test_no_step_is_described_twice_in_one_pathway() -> None:
    for name, data in PATHWAY_FILES.items():
        for field in ("change", "ready"):
            assert repeated(step[field] for step in data["step"]) == [], name


def test_the_usual_dose_lies_inside_its_range() -> None:
    assert [
        who for who, exercise in EXERCISES
        if not exercise["low"] <= exercise["usual"] <= exercise["high"]
    ] == []  # fmt: skip


def test_alternating_repetitions_come_out_even_left_and_right() -> None:
    alternating = [
        (who, exercise)
        for who, exercise in EXERCISES
        if exercise["sides"] == "alternating" and exercise["measure"] == "repetitions"
    ]
    assert alternating
    assert [
        who
        for who, exercise in alternating
        if any(exercise[amount] % 2 for amount in ("low", "usual", "high"))
    ] == []


def test_repetitions_have_a_tempo_and_holds_and_bouts_have_none() -> None:
    assert [
        who
        for who, exercise in EXERCISES
        if ("tempo" in exercise) != (exercise["measure"] == "repetitions")
    ] == []


def test_a_region_either_carries_load_or_only_moves() -> None:
    assert [
        who for who, exercise in EXERCISES if set(exercise["loads"]) & set(exercise["moves"])
    ] == []


def test_every_need_is_met_by_items_that_exist() -> None:
    known = {item["slug"] for item in parsed(ITEM_FILE)["item"]}
    named = {
        (who, item)
        for who, exercise in EXERCISES
        for need in exercise["needs"]
        for item in need["any"]
    }
    assert {(who, item) for who, item in named if item not in known} == set()


def test_jumps_and_landings_are_watched_by_a_grown_up() -> None:
    landings = [
        (name, exercise)
        for name in ("jump.toml", "land.toml")
        for exercise in PATHWAY_FILES[name]["exercise"]
        if exercise["contacts"] > 0
    ]
    assert landings
    assert [exercise["slug"] for _, exercise in landings if not exercise["watch"]] == []


def test_what_a_grown_up_watches_says_what_to_set_up_and_takes_time_for_it() -> None:
    watched = [exercise for _, exercise in EXERCISES if exercise["watch"]]
    assert watched
    assert [one["slug"] for one in watched if not one["needs"] and not one["setup"]] == []
    assert [one["slug"] for one in watched if one.get("setup_seconds", 0) < 10] == []


def test_what_has_to_be_fetched_takes_time_to_set_up() -> None:
    """A need that no wall, door, stair, floor or open space of the home meets."""
    stands_there = {"wall", "doorway", "stairs"} | {
        item["slug"] for item in parsed(ITEM_FILE)["item"] if item["kind"] != "thing"
    }
    fetched = [
        exercise
        for _, exercise in EXERCISES
        if any(not stands_there & set(need["any"]) for need in exercise["needs"])
    ]
    assert fetched
    assert [one["slug"] for one in fetched if not one.get("setup_seconds")] == []


def test_what_leaves_the_floor_loads_the_legs_that_catch_it() -> None:
    assert [
        who
        for who, exercise in EXERCISES
        if exercise["contacts"] > 0 and not {"ankle", "foot"} <= set(exercise["loads"])
    ] == []


def landing_patterns() -> list[tuple[str, dict[str, Any], tuple[Unsaid, ...]]]:
    """The exercises of jump, land and skip, each with what it leaves unsaid of its landings."""
    return [
        (name, exercise, unsaid(_counted(name, exercise), exercise["loads"], names_a_floor=floor))
        for name, data in PATHWAY_FILES.items()
        if data["pathway"]["pattern"] in LANDING_PATTERNS
        for exercise in data["exercise"]
        for floor in [any(set(need["any"]) <= FLOORS for need in exercise["needs"])]
    ]


def _counted(name: str, exercise: dict[str, Any]) -> AsWritten:
    pattern = PATHWAY_FILES[name]["pathway"]["pattern"]
    because = exercise.get("no_landing_because", "")
    contact_class = exercise.get("contact_class", "")
    return AsWritten(pattern, exercise["measure"], exercise["contacts"], because, contact_class)


def test_every_jump_landing_and_skip_says_its_contacts_ankle_and_knee_or_why_nothing_lands() -> (
    None
):
    found = landing_patterns()
    assert {name for name, *_ in found} == {"jump.toml", "land.toml", "skip.toml"}
    assert {e["slug"]: said for _, e, said in found if {*said} - {Unsaid.FLOOR}} == {}
    grounded = {e["slug"]: e["contacts"] for _, e, _ in found if e.get("no_landing_because")}
    assert grounded == dict.fromkeys(
        ("tiptoe-pop", "landing-hold", "march-and-turn", "rope-side-swing"), 0
    )


def test_no_more_landings_than_now_go_without_a_floor() -> None:
    """To give them one is content of its own: it takes them from every home that has not said what
    floor it has. A coach's own exercise has to name one."""
    assert len([e for _, e, said in landing_patterns() if Unsaid.FLOOR in said]) <= 24


@each_file
def test_steps_and_laterals_end_on_exercises_of_the_file_and_none_is_left_out(name: str) -> None:
    data = PATHWAY_FILES[name]
    own = {exercise["slug"] for exercise in data["exercise"]}
    assert set(graph_of(data)) == own
    assert {slug for lateral in data.get("lateral", []) for slug in lateral["between"]} <= own


@each_file
def test_a_pathway_is_one_piece_without_a_circle_and_without_a_repeated_step(name: str) -> None:
    data = PATHWAY_FILES[name]
    graph = graph_of(data)
    assert nx.is_directed_acyclic_graph(graph)
    assert nx.is_weakly_connected(graph)
    assert graph.number_of_edges() == len(data["step"])


@each_file
def test_a_lateral_never_joins_an_exercise_to_one_above_or_below_it(name: str) -> None:
    data = PATHWAY_FILES[name]
    reachable = nx.transitive_closure_dag(graph_of(data))
    pairs = [lateral["between"] for lateral in data.get("lateral", [])]
    assert [
        (one, other)
        for one, other in pairs
        if reachable.has_edge(one, other) or reachable.has_edge(other, one)
    ] == []
    assert len({frozenset(pair) for pair in pairs}) == len(pairs)


@each_file
def test_every_step_says_when_a_child_is_ready_in_something_that_can_be_counted(name: str) -> None:
    assert [
        step["ready"] for step in PATHWAY_FILES[name]["step"] if not NUMBER.search(step["ready"])
    ] == []


@each_file
def test_every_pathway_begins_with_something_that_needs_no_kit(name: str) -> None:
    """Floor and room to lie down are allowed; a thing to buy or fetch is not."""
    data = PATHWAY_FILES[name]
    kinds = {item["slug"]: item["kind"] for item in parsed(ITEM_FILE)["item"]}
    graph = graph_of(data)
    needs = {exercise["slug"]: exercise["needs"] for exercise in data["exercise"]}
    entries = [slug for slug in graph if graph.in_degree(slug) == 0]
    assert [
        slug
        for slug in entries
        if all(any(kinds[item] == "space" for item in need["any"]) for need in needs[slug])
    ]
