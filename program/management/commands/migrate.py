from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

from django.conf import settings
from django.core.management.base import CommandError, CommandParser
from django.core.management.commands.migrate import Command as DjangoMigrate
from django.db import connections

from program.operations.backup.before_migrating import KEPT, back_up_before_migrating
from program.operations.backup.errors import BackupError

OURS = {"default", "owner"}
CHANGES_NOTHING = ("plan", "check_unapplied", "prune")

ONE_AT_A_TIME: Final = 0x666C6564676501


@contextmanager
def one_at_a_time(database: str) -> Iterator[None]:
    """Two deploys at once: the second waits, and finds nothing left to do."""
    with connections[database].cursor() as cursor:
        cursor.execute("SELECT pg_advisory_lock(%s)", [ONE_AT_A_TIME])
        try:
            yield
        finally:
            cursor.execute("SELECT pg_advisory_unlock(%s)", [ONE_AT_A_TIME])


class Command(DjangoMigrate):
    """Django's migrate, run as the database's owner where that is another role than the web's, and
    after a backup where there are people to lose."""

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--without-backup",
            action="store_true",
            help="migrate a database with people without keeping it first",
        )
        if "owner" in settings.DATABASES:
            parser.set_defaults(database="owner")

    def handle(self, *args: Any, **options: Any) -> None:
        with one_at_a_time(options["database"]):
            self.migrate(*args, **options)

    def migrate(self, *args: Any, **options: Any) -> None:
        without = options.pop("without_backup") or options["database"] not in OURS
        if not without and not any(options[name] for name in CHANGES_NOTHING):
            self.back_up(options)
        super().handle(*args, **options)

    def back_up(self, options: dict[str, Any]) -> None:
        try:
            path = back_up_before_migrating(
                options["database"], goes_back=bool(options["app_label"])
            )
        except BackupError as error:
            raise CommandError(
                f"{error} Nothing was migrated; --without-backup migrates without a backup."
            ) from error
        if path and options["verbosity"]:
            self.stdout.write(
                f"Before migrating, all was kept in {path} (the last {KEPT} such files stay)."
            )
