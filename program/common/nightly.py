"""What is kept for a time and then let go, every night."""

from django.utils import timezone
from procrastinate.contrib.django import app

from athletes.models import Invitation, SignIn
from library.shared.task_queue import Queue, task
from program.models import IdempotencyKey


@app.periodic(cron="37 3 * * *")
@task("program.let_go", Queue.CHANGES)
def let_go(timestamp: int) -> None:
    now = timezone.now()
    SignIn.objects.over_at(now).delete()
    Invitation.objects.over_at(now).delete()
    IdempotencyKey.objects.forgotten(now).delete()
