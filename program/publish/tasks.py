"""What the worker does for sessions that are out."""

import datetime as dt

from django.utils import timezone

from athletes.models import Child
from athletes.signals import Circumstance
from library.shared.task_queue import Queue, task
from program.publish.refitting import refit


@task("program.choose_anew", Queue.CHANGES)
def choose_anew(child: int, what: str, asked_at: str) -> None:
    """Choose anew what this child has ahead, after something about it changed at that moment. What
    was chosen before a worker died stays; the rest follows."""
    found = Child.objects.filter(pk=child).first()
    if found:
        at = dt.datetime.fromisoformat(asked_at)
        refit(found, Circumstance(what), at, timezone.localdate())
