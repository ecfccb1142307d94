"""The JSON of an export, described by JSON Schema (draft 2020-12), made from the declarations."""

from typing import Any, Final

from django.contrib.postgres.fields import ArrayField
from django.db.models import (
    BooleanField,
    DateField,
    DateTimeField,
    DecimalField,
    Field,
    IntegerField,
    JSONField,
    ManyToManyField,
    UUIDField,
)

from program.privacy.declarations import OF_A_CHILD
from program.privacy.declaring import Held

VERSION: Final = 1
"""Another one whenever a name or a type changes."""


def schema() -> dict[str, Any]:
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Everything that Fledge holds about one child",
        "type": "object",
        "additionalProperties": False,
        "required": ["version", "made", "tables"],
        "properties": {
            "version": {"const": VERSION},
            "made": {"type": "string", "format": "date-time"},
            "tables": {
                "type": "object",
                "additionalProperties": False,
                "required": [held.name for held in OF_A_CHILD],
                "properties": {held.name: _table(held) for held in OF_A_CHILD},
            },
        },
    }


def _table(held: Held) -> dict[str, Any]:
    row = {
        name: {"title": label, **_type(held.model._meta.get_field(name))}  # type: ignore[arg-type]
        for name, label in held.exported.items()
    }
    return {
        "title": held.what,
        "description": f"Held {held.why}. Read by {held.readers}. Kept {held.kept.words}.",
        "type": "array",
        "items": {
            "type": "object",
            "additionalProperties": False,
            "required": list(row),
            "properties": row,
        },
    }


def _type(field: "Field[Any, Any]") -> dict[str, Any]:
    if isinstance(field, JSONField):
        return {}
    if isinstance(field, ManyToManyField):
        return {"type": "array", "items": {"type": "string"}}
    if isinstance(field, ArrayField):
        return {"type": "array", "items": {"type": _kind(field.base_field)}}
    kinds: dict[str, Any] = {"type": _kind(field)}
    if isinstance(field, DateTimeField):
        kinds["format"] = "date-time"
    elif isinstance(field, DateField):
        kinds["format"] = "date"
    elif isinstance(field, UUIDField):
        kinds["format"] = "uuid"
    return kinds | {"type": [kinds["type"], "null"]} if field.null else kinds


def _kind(field: "Field[Any, Any]") -> str:
    if field.choices or field.is_relation:
        return "string"
    if isinstance(field, BooleanField):
        return "boolean"
    if isinstance(field, DecimalField):
        return "number"
    return "integer" if isinstance(field, IntegerField) else "string"
