"""What is kept for a time and then let go, every night."""

from django.contrib.sessions.models import Session as SignIn
from django.utils import timezone
from procrastinate.contrib.django import app

from library.shared.task_queue import Queue, task
from program.models import IdempotencyKey


@app.periodic(cron="37 3 * * *")
@task("program.let_go", Queue.CHANGES)
def let_go(timestamp: int) -> None:
    now = timezone.now()
    SignIn.objects.filter(expire_date__lt=now).delete()
    IdempotencyKey.objects.forgotten(now).delete()
