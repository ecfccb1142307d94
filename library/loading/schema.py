"""What the JSON Schema of the library files says of a row, in words for whoever wrote the file."""

import json
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError

SCHEMA_FILE = Path(__file__).resolve().parents[1] / "starter" / "schema.json"
WHAT_IT_MUST_BE = {
    "array": "a list",
    "boolean": "true or false",
    "integer": "a whole number",
    "number": "a number",
    "object": "a table",
    "string": "text",
}

type Complaint = tuple[tuple[str | int, ...], str]


@cache
def _definitions() -> dict[str, Any]:
    schema: dict[str, Any] = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))
    return schema


@cache
def _validator(kind: str) -> Draft202012Validator:
    schema = _definitions()
    if kind == "pathway_file":
        return Draft202012Validator(schema)
    return Draft202012Validator({**schema["$defs"][kind], "$defs": schema["$defs"]})


def complaints(kind: str, data: Mapping[str, Any]) -> Iterator[Complaint]:
    """Every way in which a whole file breaks the schema: where, as keys and indexes, and why.

    `kind` is "pathway_file" or "item_file".
    """
    seen: set[Complaint] = set()
    for error in _validator(kind).iter_errors(data):
        for complaint in _complaints(error):
            if complaint not in seen:
                seen.add(complaint)
                yield complaint


def _complaints(error: ValidationError) -> Iterator[Complaint]:
    place = tuple(error.absolute_path)
    if error.validator == "required":
        for name in error.validator_value:
            if name not in error.instance:
                yield (*place, name), "is missing"
    elif error.validator == "additionalProperties":
        known = ", ".join(error.schema["properties"])
        for name in error.instance:
            if name not in error.schema["properties"]:
                yield (*place, name), f"is not known here; known are {known}"
    elif error.validator is not None:
        # What is forbidden outright comes without its place: that is a tempo, see `checks`.
        yield place, _in_words(error)


def _in_words(error: ValidationError) -> str:
    words = WORDS.get(str(error.validator))
    return words(error) if words else error.message


PATTERNS = {
    r"^\S(.*\S)?$": "begins or ends with a space, or breaks the line",
    r"^[a-z0-9]+(-[a-z0-9]+)*$": "must be lower-case letters and digits, single hyphens between",
    r"^([0-9]|X)-[0-9]-([0-9]|X)-[0-9]$": (
        "must be four numbers of seconds, lowering-pause-lifting-pause, such as 3-1-1-0; "
        "lowering or lifting may be X for fast"
    ),
}

WORDS: dict[str, Callable[[ValidationError], str]] = {
    "type": lambda e: f"must be {WHAT_IT_MUST_BE.get(e.validator_value, e.validator_value)}",
    "enum": lambda e: f"{e.instance!r} is none of {', '.join(map(str, e.validator_value))}",
    "pattern": lambda e: PATTERNS.get(e.validator_value, f"does not match {e.validator_value}"),
    "minLength": lambda e: f"needs {e.validator_value} characters or more, has {len(e.instance)}",
    "maxLength": lambda e: f"takes {e.validator_value} characters or fewer, has {len(e.instance)}",
    "minItems": lambda e: f"needs {e.validator_value} entries or more, has {len(e.instance)}",
    "maxItems": lambda e: f"takes {e.validator_value} entries or fewer, has {len(e.instance)}",
    "uniqueItems": lambda e: "names something twice",
    "minimum": lambda e: f"is {e.instance}; the least is {e.validator_value}",
    "maximum": lambda e: f"is {e.instance}; the most is {e.validator_value}",
}
