from itertools import groupby
from typing import Any

from django.core.management.base import BaseCommand

from program.common.library_snapshot import library_snapshot
from program.fit.kit_gaps import Gap, gaps_of


class Command(BaseCommand):
    help = "Print each exercise for which a common home has no version at all."

    def handle(self, *args: Any, **options: Any) -> None:
        library = library_snapshot().fit
        gaps = sorted(gaps_of(library))
        for exercise, group in groupby(gaps, key=lambda gap: gap.exercise):
            kits = "; ".join(_in_words(gap) for gap in group)
            self.stdout.write(f"{library.names[exercise]}: {kits}")
        open_gaps = sum(not gap.justified for gap in gaps)
        self.stdout.write(
            f"{len(gaps)} gaps in {len(library.exercises)} exercises, {open_gaps} of them open."
        )


def _in_words(gap: Gap) -> str:
    return f"{gap.kit} ({gap.justified})" if gap.justified else f"{gap.kit}: OPEN"
