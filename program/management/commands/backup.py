import time
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from program.config.embedded_postgres import locks
from program.operations.backup import configured
from program.operations.backup.errors import BackupError
from program.operations.backup.making import Made, back_up

MEGABYTE = 1024 * 1024


class Command(BaseCommand):
    help = "Keep the database and all uploads in one new file, and see that it can be restored."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--for",
            dest="public_key",
            metavar="KEY",
            default=settings.BACKUPS_FOR,
            help="encrypt for the holder of this public key (see backup_key); "
            "otherwise for that in FLEDGE_BACKUPS_FOR",
        )

    def handle(self, *args: Any, file: Path, public_key: str, **options: Any) -> None:
        begun = time.monotonic()
        try:
            with locks.ending_on_signals():
                made = back_up(configured.database(configured.owner()), file, public_key)
        except BackupError as error:
            raise CommandError(str(error)) from error
        for line in in_words(made, file, time.monotonic() - begun):
            self.stdout.write(line)
        if not public_key:
            self.stdout.write(
                f"{file} holds children’s data UNENCRYPTED: whoever can read it can read all. "
                "--for KEY encrypts it."
            )
        for line in what_is_missing(made):
            self.stderr.write(line)


def in_words(made: Made, file: Path, seconds: float) -> list[str]:
    tables = made.manifest.tables.values()
    uploads = sum(name.startswith("uploads/") for name in made.manifest.members)
    said = [
        f"{file}: {sum(table.rows for table in tables)} rows of {len(tables)} tables, "
        f"{uploads} uploads, {made.size / MEGABYTE:.1f} MB, {seconds:.1f} s."
    ]
    if made.in_full:
        said.append("Restored into a scratch database, every table was the same.")
    else:
        said.append(
            "The file was read to its end, but NOT restored to see whether it can be: the "
            "database’s owner may make no database (ALTER ROLE … CREATEDB lets it)."
        )
    return said


def what_is_missing(made: Made) -> list[str]:
    said = []
    if lost := made.manifest.lost:
        said.append(
            f"{len(lost)} uploads are LOST: rows name them, and their files are not there. The "
            "archive’s manifest lists them; an earlier backup may hold them."
        )
    if deleted := made.manifest.deleted_meanwhile:
        said.append(f"{len(deleted)} uploads were deleted while this ran, and are not in it.")
    return said
