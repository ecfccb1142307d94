from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from program.privacy.copies import files_without_a_copy
from program.privacy.retention import children_whose_time_is_over, let_go, over


class Command(BaseCommand):
    help = (
        "Say what the next night lets go because its time is over, and how many children are asked "
        "about. Nothing is changed without --now."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--now", action="store_true", help="let it go now")

    def handle(self, *args: Any, now: bool, **options: Any) -> None:
        moment = timezone.now()
        for each in over(moment):
            self.stdout.write(f"{each.rows.count():>8}  {each.what}")
        files = len(files_without_a_copy(moment))
        self.stdout.write(f"{files:>8}  files of copies that nobody waits for")
        children = children_whose_time_is_over(timezone.localtime(moment).date()).count()
        self.stdout.write(f"{children:>8}  children to be asked about, thirty days before")
        if now:
            let_go(moment)
            self.stdout.write("Done.")
        else:
            self.stdout.write("Nothing was changed.")
