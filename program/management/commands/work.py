from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from program.config.start import refuse_unfit_start
from program.operations.worker import Pulse, work


class Command(BaseCommand):
    help = (
        "Do what follows from changes: choose sessions anew, send mails, clear at night. Ends on "
        "SIGINT and SIGTERM. `demo` and `serve` start it beside the web server."
    )
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--pulse",
            type=float,
            default=Pulse.seconds,
            help="seconds between two signs of life (%(default)s); four missing ones mean death",
        )

    def handle(self, *args: Any, pulse: float, **options: Any) -> None:
        refuse_unfit_start()
        work(Pulse(pulse))
