from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser

from program.config import embedded_postgres


class Command(BaseCommand):
    help = "Start or stop Fledge's own Postgres in its data folder."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("act", choices=["start", "stop"])

    def handle(self, *args: Any, **options: Any) -> None:
        if options["act"] == "start":
            server = embedded_postgres.start(settings.DATA_DIR)
            self.stdout.write(f"Postgres serves from {server.data_dir}.")
        else:
            embedded_postgres.stop(settings.DATA_DIR)
            self.stdout.write("Postgres has stopped.")
