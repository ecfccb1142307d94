import re
import tomllib
from importlib.metadata import distributions
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

PYPROJECT = settings.BASE_DIR / "pyproject.toml"
PINNED = re.compile(r"^constraint-dependencies = \[\n.*?^\]\n", re.MULTILINE | re.DOTALL)
UV_TABLE = "[tool.uv]\n"


def installed() -> list[str]:
    """Every installed package as `name==version`, names in their normal form, in order."""
    found = {
        re.sub(r"[-_.]+", "-", each.metadata["Name"]).lower(): each.version
        for each in distributions()
    }
    return [f"{name}=={version}" for name, version in sorted(found.items())]


def pinned() -> list[str]:
    """What pyproject.toml pins."""
    pyproject = tomllib.loads(PYPROJECT.read_text())
    return list(pyproject["tool"]["uv"].get("constraint-dependencies", []))


def with_pins(text: str, versions: list[str]) -> str:
    """pyproject.toml's text with exactly these versions pinned."""
    lines = "".join(f'    "{version}",\n' for version in versions)
    block = f"constraint-dependencies = [\n{lines}]\n"
    without = PINNED.sub("", text)
    return without.replace(UV_TABLE, UV_TABLE + block, 1)


class Command(BaseCommand):
    """Pins the exact version of every installed package, transitive ones included.

    There is no lock file, which would name where packages were fetched from.
    """

    help = (
        "Write the installed versions into pyproject.toml, or check that they are the pinned ones."
    )
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--check", action="store_true", help="change nothing, fail if different"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["check"]:
            self.check_pins()
        else:
            PYPROJECT.write_text(with_pins(PYPROJECT.read_text(), installed()))
            self.stdout.write(f"{len(installed())} versions pinned in {PYPROJECT.name}.")

    def check_pins(self) -> None:
        different = sorted(set(installed()) ^ set(pinned()))
        if different:
            raise CommandError(
                "Installed and pinned versions differ (manage.py versions writes them anew): "
                + ", ".join(different)
            )
        self.stdout.write("Installed versions are the pinned ones.")
