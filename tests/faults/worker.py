"""The worker killed, and the database cut, in the middle of what follows a change."""

import datetime as dt
import random
import time
from collections.abc import Callable, Mapping
from pathlib import Path

from django.db import transaction
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob

from athletes.changes import Rule, lift, restrict
from athletes.mailing import send_after_commit, written_mail
from athletes.models import Child, User
from library.body import Region, RestrictionKind, Side
from program.models import AssignedSession, Refit
from tests.faults.left_out import LeftOut
from tests.faults.world import (
    PATIENCE,
    Mailbox,
    cut_everybody_off,
    findings_of_safety,
    findings_when_idle,
    is_being_done,
    is_idle,
    until,
    worker,
)

REGIONS = (Region.KNEE, Region.ANKLE, Region.LOWER_BACK, Region.HIP_GROIN)


def kill_in_the_middle(times: int, environ: Mapping[str, str], seed: int = 1) -> list[str]:
    """kill −9 a worker that is at a task, and start another, so many times."""

    def strike(process) -> None:
        process.kill()
        process.wait()

    return _struck(times, environ, strike, random.Random(seed), a_new_one_each_time=True)


def cut_in_the_middle(times: int, environ: Mapping[str, str], seed: int = 2) -> list[str]:
    """End every connection to the database while a worker is at a task, so many times."""

    def strike(process) -> None:
        cut_everybody_off()

    return _struck(times, environ, strike, random.Random(seed), a_new_one_each_time=False)


def _struck(
    times: int,
    environ: Mapping[str, str],
    strike: Callable[[object], None],
    chance: random.Random,
    *,
    a_new_one_each_time: bool,
) -> list[str]:
    today, found, written = timezone.localdate(), [], 0
    with Mailbox() as mailbox:
        environ = {**environ, **mailbox.environ}
        rounds = range(times) if a_new_one_each_time else [0]
        strikes = 1 if a_new_one_each_time else times
        for _ in rounds:
            with worker(environ) as process:
                for _ in range(strikes):
                    written += _learn_something(today, chance)
                    found += findings_of_safety(today)
                    if not until(is_being_done):
                        found.append("no worker took up what was to be done")
                    time.sleep(chance.uniform(0, 0.08))
                    strike(process)
                    found += findings_of_safety(today)
        with worker(environ):
            until(is_idle, 2 * PATIENCE)
        found += findings_when_idle(today)
        found += _findings_of_mails(mailbox, written)
    return found + _findings_of_the_told()


def _learn_something(today: dt.date, chance: random.Random) -> int:
    """A change about each of three children, and a mail about each; how many mails."""
    ahead = AssignedSession.objects.untouched().filter(date__gte=today)
    keys = sorted(ahead.values_list("child", flat=True).distinct())
    by = User.objects.filter(role="head_coach").first()
    for key in chance.sample(keys, min(3, len(keys))):
        child = Child.objects.get(pk=key)
        with transaction.atomic():
            standing = child.restrictions.open_on(today).first()
            if standing and chance.random() < 0.6:
                lift(standing, by, today)
            else:
                rule = Rule(
                    chance.choice(REGIONS),
                    Side.BOTH,
                    RestrictionKind.NO_LOADING,
                    today,
                    today + dt.timedelta(days=60),
                )
                restrict(child, rule, by, today)
            send_after_commit([written_mail("someone@example.org", "About", "A body")])
    return min(3, len(keys))


def _findings_of_mails(mailbox: Mailbox, written: int) -> list[str]:
    if len(mailbox.taken) != written:
        return [f"of {written} mails {len(mailbox.taken)} arrived"]
    return []


def _findings_of_the_told() -> list[str]:
    """A coach is told of each session once: the last note about a child counts just those that were
    chosen anew for it."""
    found = []
    notes = Refit.objects.order_by("child_id", "-at").distinct("child_id")
    for note in notes:
        anew = AssignedSession.objects.filter(child=note.child_id, published_at=note.at).count()
        if anew != note.changed:
            found.append(f"a note tells of {note.changed} sessions, {anew} are other ones")
    return found


def clock_ahead(environ: Mapping[str, str]) -> list[str]:
    """A worker whose clock runs a day ahead, beside a mail server that is away, and then one whose
    clock is right: what the first one put off is done now."""
    library = next(Path("/usr/lib").glob("*/faketime/libfaketime.so.1"), None)
    if library is None:
        raise LeftOut("`faketime` is not installed")
    ahead = {"LD_PRELOAD": str(library), "FAKETIME": "+1d"}
    with transaction.atomic():
        send_after_commit([written_mail("someone@example.org", "About", "A body")])
    away = {"MAIL_HOST": "127.0.0.1", "MAIL_PORT": "9"}
    with worker({**environ, **away, **ahead}):
        until(lambda: ProcrastinateJob.objects.filter(attempts__gte=1).exists(), 20)
    with Mailbox() as mailbox, worker({**environ, **mailbox.environ}):
        found = [] if until(is_idle) else ["what was put off stays put off"]
        found += _findings_of_mails(mailbox, 1)
    return found + findings_when_idle(timezone.localdate())
