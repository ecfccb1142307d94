"""What a schema cannot say: how the rows of library files must fit each other.

Every check passes over fields that the schema has already refused, so one mistake is told once.
"""

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from library.graph import CycleError, Pair, PathwayGraph
from library.landing import AsWritten, Unsaid, unsaid
from library.loading.reading import ITEM_FILE, BadRow, Folder, PathwayFile, Row
from library.shared.reasons import is_in_words
from library.tempo import TEMPO


@dataclass(frozen=True)
class Links:
    """Steps (easier, harder) and laterals between exercises, by slug."""

    steps: Collection[Pair] = ()
    laterals: Collection[Pair] = ()


@dataclass(frozen=True)
class Standing:
    """What the library holds already, and files may therefore lean on without naming it.

    `links` are, by pathway, the steps and laterals that no file brought; `taken_out` are the
    keys of steps and laterals that files brought and somebody removed here.
    """

    items: Collection[str] = ()
    exercises: Collection[str] = ()
    links: Mapping[str, Links] = field(default_factory=dict)
    taken_out: Collection[str] = ()


def findings(folder: Folder, standing: Standing) -> list[BadRow]:
    """Everything wrong with the folder: by the schema, between its rows, and with what stands."""
    exercises = folder.of("exercise")
    found = [
        *folder.bad,
        *_repeated(folder.items, "slug"),
        *_repeated(folder.of("pathway"), "slug"),
        *_repeated(exercises, "slug"),
        *_repeated(exercises, "name"),
    ]
    for row in exercises:
        found += [*_dose(row), *_tempo(row), *_regions(row), *_other_names(row)]
    for file in folder.pathways:
        found += [*_landings(file), *_repeated_links(file), *_contradictions(file, standing)]
    if ITEM_FILE not in folder.unread:
        found += _unknown_items(exercises, _slugs(folder.items) | set(standing.items))
    if not set(folder.unread) - {ITEM_FILE}:
        found += _unknown_ends(folder, _slugs(exercises) | set(standing.exercises))
    return sorted(found, key=_in_reading_order)


def _in_reading_order(bad: BadRow) -> tuple[str, list[str | int], str]:
    """By file, then row, "step 2" before "step 10"."""
    parts = re.split(r"(\d+)", bad.row)
    return bad.file, [int(part) if part.isdigit() else part for part in parts], bad.field


def key_of(row: Row, pathway: str = "") -> str:
    """What a row is remembered by from one load to the next; `pathway` for steps and laterals."""
    match row.kind:
        case "step":
            return step_key(pathway, row.data["easier"], row.data["harder"])
        case "lateral":
            return lateral_key(pathway, *row.data["between"])
        case _:
            return f"{row.kind}/{row.data['slug']}"


def step_key(pathway: str, easier: str, harder: str) -> str:
    return f"step/{pathway}/{easier}/{harder}"


def lateral_key(pathway: str, one: str, other: str) -> str:
    """The same in whichever order the two are given."""
    return "/".join(("lateral", pathway, *sorted((one, other))))


def _repeated(rows: Iterable[Row], name: str) -> Iterator[BadRow]:
    first: dict[str, Row] = {}
    for row in rows:
        if not row.sound(name):
            continue
        earlier = first.setdefault(row.data[name].lower(), row)
        if earlier is not row:
            yield row.bad(name, f"“{row.data[name]}” is also {earlier.name} in {earlier.file}")


def _dose(row: Row) -> Iterator[BadRow]:
    if row.sound("low", "usual") and row.data["low"] > row.data["usual"]:
        yield row.bad("low", f"{row.data['low']} is more than usual, {row.data['usual']}")
    if row.sound("usual", "high") and row.data["usual"] > row.data["high"]:
        yield row.bad("usual", f"{row.data['usual']} is more than high, {row.data['high']}")


def _tempo(row: Row) -> Iterator[BadRow]:
    if row.sound("tempo") and not re.fullmatch(TEMPO, row.data["tempo"]):
        yield row.bad("tempo", "four zeros take no time")
    if row.sound("tempo", "measure") and row.data["measure"] != "repetitions":
        yield row.bad("tempo", "is for exercises measured in repetitions only")


def _regions(row: Row) -> Iterator[BadRow]:
    if row.sound("loads", "moves"):
        for region in sorted(set(row.data["loads"]) & set(row.data["moves"])):
            yield row.bad("moves", f"{region} carries load already")


def _other_names(row: Row) -> Iterator[BadRow]:
    if row.sound("name", "other_names"):
        said = Counter(name.casefold() for name in [row.data["name"], *row.data["other_names"]])
        for name in (name for name, times in said.items() if times > 1):
            yield row.bad("other_names", f"“{name}” is said already")


def _landings(file: PathwayFile) -> Iterator[BadRow]:
    """What an exercise of a landing pattern leaves unsaid. No floor is asked for: in files of ours
    it is content, which a test counts."""
    if file.pathway is None or not file.pathway.sound("pattern"):
        return
    for row in file.of("exercise"):
        if row.sound("measure", "contacts", "loads") and _is_sound_if_said(row):
            yield from _landing(row, file.pathway.data["pattern"])


def _is_sound_if_said(row: Row) -> bool:
    said = {"contact_class", "no_landing_because"}.intersection(row.data)
    return row.sound(*said)


def _landing(row: Row, pattern: str) -> Iterator[BadRow]:
    data, because = row.data, row.data.get("no_landing_because", "")
    if because and not is_in_words(because):
        yield row.bad("no_landing_because", "is a reason in words")
    if because and data["contacts"]:
        yield row.bad("no_landing_because", "contradicts its ground contacts")
    if not data["contacts"] and data.get("contact_class"):
        yield row.bad("contact_class", "is for what has ground contacts")
    contact_class = data.get("contact_class", "")
    said = AsWritten(pattern, data["measure"], data["contacts"], because, contact_class)
    for each in unsaid(said, data["loads"], names_a_floor=True):
        if each is Unsaid.CONTACTS:
            yield row.bad("contacts", f"must say {each.label}, or no_landing_because")
        elif each is Unsaid.CLASS:
            yield row.bad("contact_class", f"must say {each.label}")
        else:
            yield row.bad("loads", f"must say {each.label}")


def _unknown_items(exercises: Iterable[Row], items: Collection[str]) -> Iterator[BadRow]:
    for row in exercises:
        if row.sound("needs"):
            for number, need in enumerate(row.data["needs"], start=1):
                for item in need["any"]:
                    if item not in items:
                        yield row.bad(f"needs {number} any", f"there is no item {item}")


def _unknown_ends(folder: Folder, exercises: Collection[str]) -> Iterator[BadRow]:
    for row in folder.of("step"):
        for end in ("easier", "harder"):
            if row.sound(end) and row.data[end] not in exercises:
                yield row.bad(end, f"there is no exercise {row.data[end]}")
    for row in folder.of("lateral"):
        if row.sound("between"):
            for slug in row.data["between"]:
                if slug not in exercises:
                    yield row.bad("between", f"there is no exercise {slug}")


def _slugs(rows: Iterable[Row]) -> set[str]:
    return {row.data["slug"] for row in rows if row.sound("slug")}


def _repeated_links(file: PathwayFile) -> Iterator[BadRow]:
    first: dict[str, Row] = {}
    for row in file.linking_rows():
        earlier = first.setdefault(key_of(row), row)
        if earlier is not row:
            yield row.bad("", f"is {earlier.name} again")


def _contradictions(file: PathwayFile, standing: Standing) -> Iterator[BadRow]:
    """Each row that closes a circle, the last one written of those in it."""
    if file.pathway is None or not file.pathway.sound("slug"):
        return
    pathway = file.pathway.data["slug"]
    rows = [row for row in file.linking_rows() if key_of(row, pathway) not in standing.taken_out]
    also = standing.links.get(pathway, Links())
    while True:
        try:
            _graph(pathway, rows, also)
        except CycleError as error:
            closing = _last_of(rows, error)
            yield closing.bad(_blamed(closing), f"leads in a circle: {error.in_words()}")
            rows.remove(closing)
        else:
            return


def _graph(pathway: str, rows: Iterable[Row], also: Links) -> PathwayGraph:
    rows = list(rows)
    steps = [(row.data["easier"], row.data["harder"]) for row in rows if row.kind == "step"]
    laterals = [tuple(row.data["between"]) for row in rows if row.kind == "lateral"]
    return PathwayGraph.build(pathway, [*steps, *also.steps], [*laterals, *also.laterals])


def _last_of(rows: list[Row], error: CycleError) -> Row:
    around = {(link.first, link.second, link.is_step) for link in error.links}
    around |= {(two, one, False) for one, two, is_step in around if not is_step}
    return [row for row in rows if _link_of(row) in around][-1]


def _link_of(row: Row) -> tuple[str, str, bool]:
    if row.kind == "step":
        return row.data["easier"], row.data["harder"], True
    one, other = row.data["between"]
    return one, other, False


def _blamed(row: Row) -> str:
    return "harder" if row.kind == "step" else "between"
