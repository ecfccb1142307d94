"""A phone sends what it kept at the very moment in which its coach publishes the session anew."""

import contextlib
import threading

import pytest
from django.db import transaction
from django.utils import timezone

from program.models import AssignedSession, Completion, PainReport, Question, Session, Submission
from program.publish.publishing import PublishInProgress, publish
from tests.program.log.test_phone_inbox import Phone
from tests.program.publish.test_publishing import written_session
from tests.support.together import PATIENCE, together

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("evening")]

KINDS = ("started", "easier", "pain", "log", "ask")
TRIES = 20


@pytest.fixture
def session(cast) -> Session:
    session = written_session(cast.cohort)
    publish(session, by=cast.coach, now=timezone.now())
    return session


@pytest.fixture
def phone(cast, client_for, session) -> Phone:
    client = client_for(cast.guardian)
    client.raise_request_exception = False
    return Phone(client, session.assigned.get(child=cast.child))


def publish_anew(session: Session, coach) -> None:
    """Edited since, so that what nobody has started is replaced."""
    slot = session.parts.get().slots.get(position=0)
    slot.amount = slot.amount % 12 + 1
    slot.save(update_fields=["amount"])
    publish(session, by=coach, now=timezone.now())


def item_of(kind: str, phone: Phone) -> dict:
    if kind == "pain":
        return phone.pain()
    if kind == "log":
        return phone.log()
    more = {"ask": {"text": "Is a stool low enough?"}, "easier": {"slot": "p0s0", "round": "1"}}
    return phone.item(kind, **more.get(kind, {}))


def where_it_stands(kind: str) -> AssignedSession:
    """The session that what was sent is kept with."""
    if kind == "pain":
        return PainReport.objects.get().assigned_session
    if kind == "ask":
        return Question.objects.get().assigned_session
    return Submission.objects.get().assigned_session


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_sent_while_the_session_is_replaced_stands_with_the_new_one(
    cast, phone, session, kind
):
    old, replaced, sent = session.assigned.get(), threading.Event(), item_of(kind, phone)

    def coach_publishes() -> None:
        with transaction.atomic():
            publish_anew(session, cast.coach)
            replaced.set()
            threading.Event().wait(0.3)  # the phone sends before this is committed

    def phone_sends():
        assert replaced.wait(PATIENCE)
        return phone.send(sent)

    _, answer = together(coach_publishes, phone_sends)
    new = session.assigned.get()
    assert new.pk != old.pk
    assert answer.status_code == 200
    # A log says something of what was seen, which is another session by now.
    assert answer.json()["state"] == ("conflict" if kind == "log" else "written")
    assert where_it_stands(kind) == new
    assert (new.started_at is not None) is (kind in {"started", "easier", "pain"})


def test_however_they_meet_nothing_is_refused_by_the_database(cast, phone, session):
    """9 of 85 sent so were a fault before."""
    faults = []
    for turn in range(TRIES):
        kind = KINDS[turn % len(KINDS)]
        sent = item_of(kind, phone)

        def coach_publishes() -> None:
            with contextlib.suppress(PublishInProgress):
                publish_anew(session, cast.coach)

        answer = together(coach_publishes, lambda sent=sent: phone.send(sent))[1]
        if answer.status_code != 200:
            faults.append((kind, answer.status_code))
        Completion.objects.all().delete()
        session.assigned.update(started_at=None)
    assert faults == []
    assert Submission.objects.count() == TRIES
