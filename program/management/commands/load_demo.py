import datetime as dt
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from program.demo.load import AlreadyPeopled, Size, load_demo


class Command(BaseCommand):
    help = "Load an invented program of any size into a database without children."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--athletes", type=int, default=40)
        parser.add_argument("--weeks", type=int, default=8)
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--today", type=dt.date.fromisoformat, help="YYYY-MM-DD")

    def handle(self, *args: Any, **options: Any) -> None:
        size = Size(options["athletes"], options["weeks"])
        today = options["today"] or timezone.localdate()
        try:
            load_demo(size, options["seed"], today)
        except AlreadyPeopled as error:
            raise CommandError(
                "There are children in this database already; the demo is only for an empty one."
            ) from error
        self.stdout.write(f"{size.athletes} invented children, {size.weeks} weeks.")
