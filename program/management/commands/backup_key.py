from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from program.operations.backup.encryption import new_key


class Command(BaseCommand):
    help = "Make a key for backups: the secret half in a new file, the public half to encrypt for."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        key = new_key()
        try:
            file.touch(mode=0o600, exist_ok=False)
            file.write_text(f"# public key: {key.to_public()}\n{key}\n")
        except OSError as error:
            raise CommandError(f"{file} cannot be made: {error.strerror}.") from error
        self.stdout.write(str(key.to_public()))
        self.stderr.write(
            f"Keep {file} away from this machine, twice: without it no backup can be read."
        )
