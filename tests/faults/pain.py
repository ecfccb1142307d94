"""What hurts, told at the very moment at which a session is first published, or at which the web
server or a worker is killed."""

import datetime as dt
import random
import threading
import time
import uuid
from collections.abc import Callable, Mapping

from django.db import connection, transaction
from django.utils import timezone

from athletes.changes import Rule, lift, restrict
from athletes.models import Child, User
from library.body import Region, RestrictionKind, Side
from program.log.pain_reports import PainEntry, Reporting, report_pain
from program.models import AssignedSession, Completion, PainReport, Session
from program.publish.publishing import publish
from program.review.ways_back import begin, go_to
from tests.faults.web import Site
from tests.faults.world import (
    PATIENCE,
    findings_of_safety,
    findings_when_idle,
    is_being_done,
    is_idle,
    until,
    worker,
)

REGIONS = (Region.KNEE, Region.ANKLE, Region.LOWER_BACK, Region.HIP_GROIN)
ORIGIN = "https://club.example"
A_TASK = 3
"""Seconds that the worker is given, at most, for what follows from one race."""


def race(times: int, environ: Mapping[str, str], seed: int = 5) -> list[str]:
    """A session's first publish and something learnt of a child, so many times at one moment:
    whoever is later sees what the other wrote."""
    today, chance, found = timezone.localdate(), random.Random(seed), []
    sessions = list(Session.objects.filter(published_at__isnull=False, date__gte=today))
    for _ in range(times):
        session = chance.choice(sessions)
        session.assigned.untouched().delete()
        Session.objects.filter(pk=session.pk).update(published_at=None)
        child = chance.choice(_in(session))
        found += _together(
            lambda session=session: publish(session, _head(), timezone.now()),
            lambda child=child: _learn(child, today, chance),
            chance,
        )
        found += findings_of_safety(today)
        if chance.random() < 0.1:
            _answer_all(today)
    with worker(environ):
        until(is_idle, times * A_TASK)
    return found + findings_when_idle(today)


def kill(times: int, environ: Mapping[str, str], seed: int = 6) -> list[str]:
    """kill −9 the web server while it takes a report, and a worker while it does what follows. What
    was answered is there; sent again, it is one report; and its place is spared all along."""
    site, chance, found = Site(environ), random.Random(seed), []
    today = timezone.localdate()
    for _ in range(times):
        if not _ahead(today):
            with worker(environ):
                until(is_idle, PATIENCE)
        session = chance.choice(_ahead(today))
        said = _as_sent(chance)
        path = f"/family/{session.child.public_id}/{session.public_id}/log/"
        with site.served() as server, worker(environ) as process:
            asking = threading.Thread(target=site.post, args=(path, said))
            asking.start()
            time.sleep(chance.uniform(0.0, 0.35))
            server.kill()
            server.wait()
            asking.join()
            found += findings_of_safety(today)
            until(is_being_done, 1)
            time.sleep(chance.uniform(0.0, 0.08))
            process.kill()
            process.wait()
        found += findings_of_safety(today)
        with site.served():
            site.post(path, said)
        if PainReport.objects.filter(public_id=said["hurt_id"]).count() != 1:
            found.append("a report was lost, or written twice")
        found += findings_of_safety(today)
        _answer_all(today)
        AssignedSession.objects.filter(pk=session.pk).update(started_at=None)
        Completion.objects.filter(assigned_session=session).delete()
    with worker(environ):
        until(is_idle, times * A_TASK)
    return found + findings_when_idle(today)


def _learn(child: Child, today: dt.date, chance: random.Random) -> None:
    """A report, a restriction, or a step of a way back."""
    region = chance.choice(REGIONS)
    step = child.way_back_steps.current().filter(region=region).select_related("child").first()
    which = chance.choice(["pain", "pain", "restriction", "way back"])
    if which == "pain":
        entry = PainEntry(uuid.uuid4(), region=region.value, level=chance.randint(1, 6))
        report_pain(child, entry, Reporting(_head(), timezone.now(), ORIGIN))
    elif which == "restriction":
        kind = chance.choice(list(RestrictionKind))
        until_then = today + dt.timedelta(days=60)
        restrict(child, Rule(region, Side.BOTH, kind, today, until_then), _head(), today)
    elif step:
        go_to(step, None, _head(), today)
    else:
        begin(child, region, Side.BOTH, _head(), today)


def _answer_all(today: dt.date) -> None:
    """Every report is seen, every restriction lifted and every way back over, so that there is
    something to lose again."""
    for child in Child.objects.order_by("pk"):
        with transaction.atomic():
            for rule in child.restrictions.open_on(today):
                lift(rule, _head(), today)
            for step in child.way_back_steps.current().exclude(region="").select_related("child"):
                go_to(step, None, _head(), today)
            child.pain_reports.answer(_head(), timezone.now())


def _as_sent(chance: random.Random) -> dict[str, str]:
    return {
        "state": "some",
        "hurt": "yes",
        "hurt_id": str(uuid.UUID(int=chance.getrandbits(128), version=4)),
        "hurt_region": chance.choice(REGIONS).value,
        "hurt_side": "both",
        "hurt_level": str(chance.randint(1, 6)),
    }


def _together(
    one: Callable[[], object], other: Callable[[], object], chance: random.Random
) -> list[str]:
    """Both at once, one of them a little later; what they raised."""
    raised = []

    def do(what: Callable[[], object], delay: float) -> None:
        time.sleep(delay)
        try:
            what()
        except Exception as error:
            raised.append(f"{type(error).__name__}: {error}")
        finally:
            connection.close()

    threads = [
        threading.Thread(target=do, args=(what, chance.uniform(0.0, 0.1))) for what in (one, other)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return raised


def _ahead(today: dt.date) -> list[AssignedSession]:
    ahead = AssignedSession.objects.untouched().filter(date__gte=today, closed_at=None)
    return list(ahead.select_related("child").order_by("pk"))


def _in(session: Session) -> list[Child]:
    enrolled = Child.objects.filter(enrolments__cohort=session.block.cohort_id).distinct()
    return list(enrolled.order_by("pk"))


def _head() -> User:
    return User.objects.filter(role="head_coach").first()
