from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from program.operations.backup import configured
from program.operations.backup.errors import BackupError
from program.operations.backup.restoring import drop_former


class Command(BaseCommand):
    help = "Delete what a restored backup took the place of, for good: database and uploads."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", help="as `restore` said it")

    def handle(self, *args: Any, name: str, **options: Any) -> None:
        try:
            deleted = drop_former(name, configured.database(configured.owner()))
        except BackupError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{name} is deleted, and {deleted} uploads that only it named.")
