from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from program.config.embedded_postgres import locks
from program.operations.backup import configured, encryption
from program.operations.backup.errors import BackupError
from program.operations.backup.restoring import Restored, restore
from program.operations.backup.signals import database_restored


class Command(BaseCommand):
    help = "Bring back what a backup holds. Until all of it is there nothing is replaced."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--key", type=Path, help="the file of the secret key it needs")
        parser.add_argument(
            "--replace", action="store_true", help="also where the database is in use"
        )

    def handle(self, *args: Any, file: Path, key: Path | None, **options: Any) -> None:
        owner, web = configured.database(configured.owner()), configured.database("default")
        try:
            with locks.ending_on_signals():
                keys = encryption.secret_keys(key) if key else None
                restored = restore(file, keys, owner, web, replace=options["replace"])
        except BackupError as error:
            raise CommandError(str(error)) from error
        for line in in_words(restored):
            self.stdout.write(line)
        faults = [
            answer
            for _, answer in database_restored.send_robust(sender=Command, path=file)
            if isinstance(answer, Exception)
        ]
        if faults:
            names = ", ".join(type(fault).__name__ for fault in faults)
            raise CommandError(f"All is restored, but what follows a restore failed: {names}.")


def in_words(restored: Restored) -> list[str]:
    manifest = restored.manifest
    said = [
        f"Restored as of {manifest.made}: every table is as it was dumped, "
        f"{restored.uploads_put} uploads were missing here and are put in place."
    ]
    if restored.migrated:
        said.append(f"It was of an older Fledge: {restored.migrated} migrations were applied.")
    if without := len(manifest.deleted_meanwhile) + len(manifest.lost):
        said.append(f"{without} rows name an upload that the archive does not hold.")
    if restored.former:
        said.append(
            f"What was there before is kept as the database {restored.former}, with its uploads; "
            f"`manage.py drop_former {restored.former}` deletes it."
        )
    return said
