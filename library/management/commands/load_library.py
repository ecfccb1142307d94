from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from library.loading.writing import BadFiles, Loaded, load

STARTER = Path(__file__).resolve().parents[2] / "starter"
SEVERAL = {
    "item": "items",
    "pathway": "pathways",
    "exercise": "exercises",
    "step": "steps",
    "lateral": "laterals",
}


class Command(BaseCommand):
    help = (
        "Load exercises, pathways and items from a folder of TOML files, by default the starter "
        "library's. Every mistake in every file is reported, and then nothing is loaded."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", nargs="?", type=Path, default=STARTER)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            loaded = load(options["folder"])
        except BadFiles as mistakes:
            files = len({bad.file for bad in mistakes.bad})
            raise CommandError(
                f"{mistakes}\nNothing was loaded: {_counted(len(mistakes.bad), 'mistake')} in "
                f"{_counted(files, 'file')}."
            ) from None
        for line in _report(loaded):
            self.stdout.write(line)


def _report(loaded: Loaded) -> list[str]:
    if not loaded.wrote:
        every = ", ".join(_counted(loaded.read[kind], kind) for kind in SEVERAL)
        return [f"Nothing to change: {every} were loaded before as they are in the files."]
    lines = []
    for kind in SEVERAL:
        counts = {
            "new": loaded.new[kind],
            "changed": loaded.changed[kind],
            "removed": loaded.removed[kind],
        }
        said = ", ".join(f"{count} {word}" for word, count in counts.items() if count)
        lines.append(f"{_counted(loaded.read[kind], kind)} in the files: {said or 'none changed'}")
    lines += [
        f"{slug} was edited here; the files' words are now its current revision."
        for slug in loaded.over_edits
    ]
    return lines


def _counted(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {SEVERAL.get(word, word + 's')}"
