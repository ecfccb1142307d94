import re
from collections.abc import Iterator
from typing import Any

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

COOL_DOWN = re.compile(r"(cool|warm)[\s-]?down", re.IGNORECASE)


def kind_named(name: str) -> str:
    """What a part is by its name, as the checks told a warm-up until now; "" for neither."""
    if COOL_DOWN.search(name):
        return "cool_down"
    return "warm_up" if "warm" in name.lower() else ""


def name_becomes_kind(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Of what is written and of templates. What was sent stays as it was."""
    alias = schema_editor.connection.alias
    parts = apps.get_model("program", "Part").objects.using(alias)
    named: dict[str, list[int]] = {}
    for pk, name in parts.filter(name__iregex=r"warm|cool").values_list("pk", "name"):
        named.setdefault(kind_named(name), []).append(pk)
    for kind in named.keys() - {""}:
        parts.filter(pk__in=named[kind]).update(kind=kind)
    for template in apps.get_model("program", "Template").objects.using(alias):
        for part in _parts_in(template.content):
            part["kind"] = kind_named(part["name"]) or part["kind"]
        template.save(using=alias, update_fields=["content"])


def _parts_in(content: Any) -> Iterator[dict[str, Any]]:
    """The parts within, wherever they stand."""
    if isinstance(content, dict):
        if {"name", "kind", "rounds", "slots"} <= content.keys():
            yield content
        content = list(content.values())
    if isinstance(content, list):
        for each in content:
            yield from _parts_in(each)


class Migration(migrations.Migration):
    dependencies = [
        ("program", "0045_kinds_of_part"),
    ]

    operations = [
        migrations.RunPython(name_becomes_kind, migrations.RunPython.noop),
    ]
