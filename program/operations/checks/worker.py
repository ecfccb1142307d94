"""Whether somebody does what follows from changes."""

from django.utils import timezone

from library.shared.task_queue import is_anybody_working, late
from program.operations.checks.result import Result, check, look, well, wrong


@check("worker", for_ready=True)
def worker() -> Result:
    now = timezone.now()
    if not is_anybody_working(now):
        return wrong(
            "none has given a sign of life within a minute",
            "Start `manage.py work`; `manage.py serve` does it by itself.",
        )
    if waiting := late(now).count():
        return look(
            f"{waiting} tasks are late",
            "Its log says why they fail; each is tried again within ten minutes.",
        )
    return well("at work")
