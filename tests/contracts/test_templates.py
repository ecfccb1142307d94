"""What the templates’ formatter cannot hold: where it finds no place to break, a hand does."""

import re
import tomllib
from pathlib import Path

from django.conf import settings

PYPROJECT = Path(settings.BASE_DIR, "pyproject.toml")
FORMATTER = tomllib.loads(PYPROJECT.read_text())["tool"]["djangofmt"]
TEMPLATES = Path(settings.BASE_DIR, "templates")
# Django reads a tag on one line alone.
ONE_TAG = re.compile(r"\s*\{%((?!%\}).)*%\}")


def templates() -> list[Path]:
    left_alone = FORMATTER.get("extend-exclude", [])
    return [
        path
        for path in sorted(TEMPLATES.rglob("*.html"))
        if not any(path.relative_to(settings.BASE_DIR).match(each) for each in left_alone)
    ]


def test_no_line_of_a_template_is_wider_than_the_formatter_makes_it():
    wide = [
        f"{path.relative_to(TEMPLATES)}:{number}"
        for path in templates()
        for number, line in enumerate(path.read_text().splitlines(), start=1)
        if len(line) > FORMATTER["line-length"] and not ONE_TAG.fullmatch(line)
    ]
    assert wide == []


def test_the_templates_are_looked_at():
    assert len(templates()) > 150
