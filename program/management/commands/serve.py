"""Fledge on one machine: its web server and its task worker, and Postgres where none is named."""

from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import connections

from program.operations import serving
from program.operations.web_server import THREADS, opened_door, web_servers


class Command(BaseCommand):
    help = (
        "Serve Fledge from this machine: web server and task worker together, with Fledge's own "
        "Postgres where DATABASE_URL names no other. What dies is started again; Ctrl-C and "
        "SIGTERM end everything. Settings come from the environment."
    )
    requires_system_checks = []  # they ask the database, which may not be running yet

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--address", default="127.0.0.1", help="(%(default)s)")
        parser.add_argument("--port", type=serving.port_number, default=8000, help="(%(default)s)")
        parser.add_argument(
            "--processes",
            type=serving.at_least_one,
            default=1,
            help="web processes, about one for each processor (%(default)s)",
        )
        parser.add_argument(
            "--threads",
            type=serving.at_least_one,
            default=THREADS,
            help="of each, at most as many as it has connections to Postgres (%(default)s)",
        )
        parser.add_argument(
            "--prepare",
            action="store_true",
            help="before: migrate, load what is new in the starter library, collect static files",
        )
        parser.add_argument(
            "--without-worker", action="store_true", help="`manage.py work` runs somewhere else"
        )

    def handle(
        self, *args: Any, address: str, port: int, processes: int, threads: int, **options: Any
    ) -> None:
        with serving.in_plain_words():
            door = opened_door(address, port)
            with door, serving.database(self.say) as data:
                if options["prepare"]:
                    prepare()
                wanted = web_servers(door, processes, threads)
                if not options["without_worker"]:
                    wanted.append(serving.WORKER)
                welcome = f"Fledge is served at {address} port {port}, from {data.where}."
                serving.keep_serving(wanted, door, data, self.say, welcome)

    def say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def prepare() -> None:
    call_command("migrate", verbosity=0, interactive=False)
    call_command("load_library")
    if settings.STATIC_ROOT:
        call_command("collectstatic", verbosity=0, interactive=False)
    connections.close_all()
