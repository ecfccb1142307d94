"""The whole of Fledge on this machine, by one command, with invented people in it."""

from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import connections, transaction

from athletes.models import Cohort
from program.operations import serving
from program.operations.web_server import THREADS, opened_door, web_servers

HOST = "127.0.0.1"


class Command(BaseCommand):
    help = "Start everything with an invented program to look around in. Ctrl-C stops everything."
    requires_system_checks = []  # they ask the database, which is not running yet

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=serving.port_number, default=8000)

    def handle(self, *args: Any, port: int, **options: Any) -> None:
        with serving.in_plain_words():
            door = opened_door(HOST, port)
            with door, serving.database(self.say) as data:
                prepare()
                serving.keep_serving(
                    [*web_servers(door, 1, THREADS), serving.WORKER],
                    door,
                    data,
                    self.say,
                    welcome(port, data.where),
                )

    def say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def prepare() -> None:
    """Migrate, and where there is no cohort load the library and the invented program, whole."""
    call_command("migrate", verbosity=0, interactive=False)
    with transaction.atomic():
        if not Cohort.objects.exists():
            for name in ("load_library", "load_demo"):
                call_command(name)
    connections.close_all()


def welcome(port: int, where: str) -> str:
    from program.demo import sign_in_lines  # the demo's people exist with DEMO=1 only

    return "\n".join(
        [
            f"Fledge is at http://{HOST}:{port}/",
            *sign_in_lines(),
            f"What you do is kept in {where}. Ctrl-C stops everything.",
        ]
    )
