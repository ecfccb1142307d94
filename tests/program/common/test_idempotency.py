"""What is asked for twice is done once: keys are rows, written with what they guard."""

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.db import connection, transaction
from django.db.transaction import TransactionManagementError
from django.http import HttpRequest
from django.test import RequestFactory
from django.urls import reverse
from django.utils import timezone

from athletes.models import User
from program.common.idempotency import already_done
from program.models import AssignedSession, IdempotencyKey, Question, Session
from program.models.idempotency import CLEARED_AT_A_TIME, REMEMBERED
from tests.support.factories import BlockFactory, SessionFactory, UserFactory
from tests.support.family import assign
from tests.support.together import together

MOMENT = dt.timedelta(seconds=1)


def request_of(user: User, key: str, path: str = "/") -> HttpRequest:
    request = RequestFactory().post(path, {"once": key} if key else {})
    request.user = user
    return request


def done_before(user: User, key: str, *what: object, path: str = "/") -> bool:
    with transaction.atomic():
        return already_done(request_of(user, key, path), *what)


@contextmanager
def cut_off_at_the_first_row_written() -> Iterator[None]:
    """The server ends the connection just when a row is to be written."""

    def cut_off(execute, sql, params, many, context):
        if str(sql).startswith("INSERT"):
            with (other := connection.copy()).cursor() as cursor:
                pid = connection.connection.info.backend_pid
                cursor.execute("SELECT pg_terminate_backend(%s, 5000)", [pid])
            other.close()
        return execute(sql, params, many, context)

    with connection.execute_wrapper(cut_off):
        yield


def cut_off_then_sent_again(client, address: str, form: dict[str, str]) -> tuple[int, int]:
    """The status that either is answered with."""
    client.raise_request_exception = False
    with cut_off_at_the_first_row_written():
        first = client.post(address, form)
    return first.status_code, client.post(address, form).status_code


@pytest.mark.django_db(transaction=True)
class TestAConnectionCutWhileTheKeyIsWritten:
    def test_a_question_is_not_called_asked_and_can_be_asked_again(self, cast, client_for):
        session = AssignedSession.objects.get(pk=assign(cast.child).pk)
        address = reverse("program:ask", args=[session.child.public_id, session.public_id])
        form = {"slot": "", "text": "How far down?", "once": "a-key"}
        parent = client_for(cast.guardian)
        assert cut_off_then_sent_again(parent, address, form) == (503, 302)
        assert Question.objects.count() == 1

    def test_a_copy_is_not_called_made_and_can_be_made_again(self, cast, coach):
        session = SessionFactory(block=BlockFactory(cohort=cast.cohort))
        address = reverse("program:session_duplicate", args=[session.pk])
        assert cut_off_then_sent_again(coach, address, {"once": "a-key"}) == (503, 302)
        assert Session.objects.count() == 2


@pytest.mark.django_db
def test_a_thousand_keys_are_all_remembered():
    requests = [request_of(UserFactory.build(pk=1), f"key {number}") for number in range(1000)]
    assert not any(already_done(each) for each in requests)
    assert all(already_done(each) for each in requests[::7])


@pytest.mark.django_db
def test_another_person_path_or_thing_asked_for_is_another_request():
    user = UserFactory()
    assert not done_before(user, "k", "squat", path="/a/")
    assert not done_before(UserFactory(), "k", "squat", path="/a/")
    assert not done_before(user, "k", "squat", path="/b/")
    assert not done_before(user, "k", "lunge", path="/a/")
    assert done_before(user, "k", "squat", path="/a/")


@pytest.mark.django_db
def test_parts_of_what_is_asked_do_not_run_into_each_other():
    user = UserFactory()
    assert not done_before(user, "k", "a|b")
    assert not done_before(user, "k", "a", "b")


@pytest.mark.django_db
def test_without_a_key_nothing_is_a_repetition():
    user = UserFactory()
    assert not done_before(user, "")
    assert not done_before(user, "")
    assert not IdempotencyKey.objects.exists()


@pytest.mark.django_db
def test_what_failed_may_be_asked_again():
    user = UserFactory()
    with transaction.atomic():
        assert not already_done(request_of(user, "k"))
        transaction.set_rollback(True)
    assert not done_before(user, "k")


@pytest.mark.django_db
def test_a_key_is_remembered_for_24_hours_and_cleared_by_the_next_request(monkeypatch):
    user, start = UserFactory(), timezone.now()

    def asked_after(age: dt.timedelta, key: str) -> bool:
        monkeypatch.setattr(timezone, "now", lambda: start + age)
        return done_before(user, key)

    assert not asked_after(dt.timedelta(), "k")
    assert asked_after(dt.timedelta(hours=24) - MOMENT, "k")
    assert not asked_after(dt.timedelta(hours=24) + MOMENT, "another")
    assert IdempotencyKey.objects.count() == 1
    assert not asked_after(dt.timedelta(hours=24) + MOMENT, "k")


@pytest.mark.django_db
def test_a_request_clears_only_so_many_old_keys_oldest_first():
    now, many = timezone.now(), CLEARED_AT_A_TIME + 3
    ages = [REMEMBERED + n * MOMENT for n in range(1, many + 1)]
    IdempotencyKey.objects.bulk_create(
        IdempotencyKey(digest=f"{n:064x}", created_at=now - age) for n, age in enumerate(ages)
    )
    done_before(UserFactory(), "k")
    left = IdempotencyKey.objects.older_than(now - REMEMBERED)
    assert set(left.values_list("digest", flat=True)) == {f"{n:064x}" for n in range(3)}


@pytest.mark.django_db(transaction=True)
def test_the_same_request_twice_at_one_moment_is_done_once():
    user = UserFactory()

    def ask() -> bool:
        return done_before(user, "k")

    assert sorted(together(ask, ask, ask)) == [False, True, True]


@pytest.mark.django_db(transaction=True)
def test_whoever_clears_waits_for_nobody_who_clears_the_same(cast):
    """Else two who hold what the other waits for would stop each other."""

    def theirs() -> bool:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET LOCAL lock_timeout = '3s'")
            return already_done(request_of(cast.other_coach, "theirs"))

    IdempotencyKey.objects.create(digest="0" * 64, created_at=timezone.now() - 2 * REMEMBERED)
    with transaction.atomic():
        assert not already_done(request_of(cast.coach, "mine"))
        assert together(theirs) == [False]


@pytest.mark.django_db(transaction=True)
def test_outside_the_transaction_it_guards_a_key_is_not_asked_for():
    with pytest.raises(TransactionManagementError):
        already_done(request_of(UserFactory(), "k"))
