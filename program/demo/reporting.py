"""Writing the demo's reports: one draft, read over and not sent yet, of a child who moved on."""

import datetime as dt
from typing import Final

from django.utils import timezone

from athletes.models import Child, Placement, User
from library.models import Exercise
from program.common.library_snapshot import library_snapshot
from program.models import Block, Report
from program.report.facts import pages_of

WORDS: Final = (
    "Landings have become so quiet that I sometimes look up to see whether they happened. What I "
    "like best: when something wobbles, it is done once more, slowly, without anybody asking."
)


MOVED_ON: Final = (("squat", 12), ("land", 9))
"""Pathways on which the child moved on, and how many days before today."""


def write_moves(child: Child, today: dt.date, by: User) -> None:
    """Before where it is placed now, the child stood one step below."""
    graphs = library_snapshot().fit.graphs
    for slug, days in MOVED_ON:
        now = Placement.objects.current().filter(child=child, pathway__slug=slug).first()
        graph = graphs[slug]
        below = [e for e, h in sorted(graph.steps) if now and h == now.exercise.slug]
        if not now or not below:
            continue
        moved_at = timezone.make_aware(
            dt.datetime.combine(today - dt.timedelta(days=days), dt.time(9))
        )
        Placement.objects.create(
            child=child,
            pathway=now.pathway,
            exercise=Exercise.objects.get(slug=below[0]),
            placed_at=min(now.placed_at, moved_at),
            ended_at=moved_at,
            placed_by=by,
            why=now.why,
        )
        now.placed_at, now.why = max(now.placed_at, moved_at), "Calm on both sides, twice."
        now.save(update_fields=["placed_at", "why"])


def write_draft(child: Child, today: dt.date) -> None:
    """Of the block that runs, so far."""
    block = Block.objects.filter(
        sessions__assigned__child=child, starts_on__lte=today, ends_on__gte=today
    ).first()
    if block is None:
        return
    report = Report(block=block, child=child, words=WORDS)
    report.write(pages_of(block, [child], today)[child.pk], timezone.now())
    report.edited_by, report.edited_at = block.cohort.coaches.first(), timezone.now()
    report.save()
