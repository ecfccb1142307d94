"""Small library folders for tests: sound unless a test breaks them on purpose."""

import io
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.core.management import call_command

from library.models import (
    Edition,
    Exercise,
    ExerciseRevision,
    Item,
    Lateral,
    LoadedRow,
    Need,
    Pathway,
    Step,
)

EVERYTHING = (Item, Exercise, ExerciseRevision, Need, Pathway, Step, Lateral, LoadedRow, Edition)


def exercise(slug: str, **said: Any) -> dict[str, Any]:
    return {
        "slug": slug,
        "name": slug.replace("-", " ").capitalize(),
        "sides": "both",
        "measure": "repetitions",
        "usual": 8,
        "low": 6,
        "high": 12,
        "tempo": "3-1-1-0",
        "plain": "Your child sits down slowly and stands up again.",
        "setup": "Push a chair against a wall and sit on its front half.",
        "setup_seconds": 0,
        "cues": ["Nose over toes", "Land like a feather"],
        "faults": [
            {"see": "Drops onto the seat", "say": "Slower than that"},
            {"see": "Knees knock together", "say": "Knees over toes"},
        ],
        "feel": "The front of both thighs.",
        "stop": "Stop if a knee hurts.",
        "contacts": 0,
        "loads": ["knee", "thigh"],
        "moves": ["ankle"],
        "needs": [{"what": "a stable seat", "any": ["dining-chair", "sofa"]}],
        "min_age": 6,
        "watch": False,
        "caution": "",
    } | said


def step(easier: str, harder: str, **said: Any) -> dict[str, Any]:
    return {
        "easier": easier,
        "harder": harder,
        "change": "The seat is lower than before.",
        "ready": "Eight calm ones on two days in a row.",
    } | said


def lateral(one: str, other: str) -> dict[str, Any]:
    return {"between": [one, other]}


def item(slug: str, **said: Any) -> dict[str, Any]:
    name = slug.replace("-", " ").capitalize()
    return {"slug": slug, "name": name, "kind": "thing", "about": "Solid, does not slide."} | said


def pathway(slug: str, pattern: str = "squat", **said: Any) -> dict[str, Any]:
    about = "Sitting down and standing up on two legs, from high seats to low ones."
    return {"slug": slug, "name": slug.capitalize(), "pattern": pattern, "about": about} | said


def write(folder: Path, name: str, **tables: Any) -> Path:
    """A file of the folder; a list becomes an array of tables."""
    lines = []
    for title, table in tables.items():
        for row in table if isinstance(table, list) else [table]:
            lines.append(f"[[{title}]]" if isinstance(table, list) else f"[{title}]")
            lines += [f"{key} = {_toml(value)}" for key, value in row.items()]
    path = folder / name
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def sound_folder(folder: Path) -> Path:
    """Two pathways of two exercises each, and the two items they need."""
    write(folder, "items.toml", item=[item("dining-chair"), item("sofa")])
    write(
        folder,
        "squat.toml",
        pathway=pathway("squat"),
        exercise=[exercise("high-seat"), exercise("low-seat")],
        step=[step("high-seat", "low-seat")],
    )
    write(
        folder,
        "push.toml",
        pathway=pathway("push", "push"),
        exercise=[exercise("wall-push"), exercise("door-push"), exercise("floor-push")],
        step=[step("wall-push", "floor-push")],
        lateral=[lateral("wall-push", "door-push")],
    )
    return folder


def _toml(value: Any) -> str:
    match value:
        case Mapping():
            return "{ " + ", ".join(f"{k} = {_toml(v)}" for k, v in value.items()) + " }"
        case list():
            return "[" + ", ".join(map(_toml, value)) + "]"
        case _:
            return json.dumps(value)


def squat(folder, *exercises, steps=None, laterals=()):
    write(
        folder,
        "squat.toml",
        pathway=pathway("squat"),
        exercise=list(exercises),
        step=steps or [step("high-seat", "low-seat")],
        lateral=list(laterals),
    )


def run(*folder: Path) -> list[str]:
    """What the command says, line by line; the starter library's folder where none is given."""
    out = io.StringIO()
    call_command("load_library", *folder, stdout=out)
    return out.getvalue().splitlines()


def rows() -> list:
    """Every row of the library, so that any change shows."""
    return [list(model.objects.order_by("pk").values()) for model in EVERYTHING]
