"""Erasing all of a child: in two steps, and again after a restore."""

import datetime as dt
import json

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from athletes.models import Child, User
from program.models import Erasure
from program.privacy import erased_list
from program.privacy.erasing import confirm, erase, erase_again
from tests.support.factories import UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def list_beside_backups(settings, tmp_path):
    settings.BACKUPS_DIR = tmp_path / "backups"


@pytest.fixture
def head(cast, client_for):
    return client_for(cast.head_coach)


def asked_by(person, child, ago=dt.timedelta()):
    why = "program" if person.is_head_coach else "asked"
    return Erasure.objects.create(
        child=child, why=why, asked_by=person, asked_at=timezone.now() - ago
    )


def done(erasure, by):
    assert confirm(erasure, by, timezone.now())
    erase.func(erasure.pk)
    erasure.refresh_from_db()
    return erasure


def test_a_guardian_asks_a_head_coach_confirms_and_the_family_is_told(
    cast, client_for, head, mailoutbox, django_capture_on_commit_callbacks
):
    parent = client_for(cast.guardian)
    with django_capture_on_commit_callbacks(execute=True):
        parent.post(reverse("program:ask_to_erase", args=[cast.child.public_id]))
    erasure = Erasure.objects.get()
    assert [mail.to for mail in mailoutbox] == [[cast.head_coach.email]]
    assert Child.objects.filter(pk=cast.child.pk).exists(), "nothing goes before the second step"
    with django_capture_on_commit_callbacks(execute=True):
        head.post(reverse("program:erasure", args=[erasure.public_id]))
    assert not Child.objects.filter(pk=cast.child.pk).exists()
    assert not User.objects.filter(email=cast.guardian.email).exists()
    assert sorted(mail.to[0] for mail in mailoutbox[1:]) == sorted(
        [cast.guardian.email, cast.athlete.email]
    )


def test_a_guardian_of_another_child_keeps_the_account(cast):
    cast.other_child.guardianships.create(guardian=cast.guardian)
    done(asked_by(cast.guardian, cast.child), cast.head_coach)
    assert User.objects.filter(pk=cast.guardian.pk).exists()
    assert not User.objects.filter(pk=cast.athlete.pk).exists()


def test_a_coach_who_is_the_childs_parent_keeps_the_account(cast):
    cast.child.guardianships.create(guardian=cast.coach)
    done(asked_by(cast.guardian, cast.child), cast.head_coach)
    assert User.objects.filter(pk=cast.coach.pk).exists()


def test_one_head_coach_does_both_steps_only_a_day_apart(cast):
    erasure = asked_by(cast.head_coach, cast.child)
    assert not confirm(erasure, cast.head_coach, timezone.now())
    assert confirm(
        asked_by(cast.head_coach, cast.other_child, ago=dt.timedelta(days=1)),
        cast.head_coach,
        timezone.now(),
    )
    assert confirm(erasure, UserFactory(role="head_coach"), timezone.now())


def test_the_database_refuses_one_person_who_does_both_at_once(cast):
    erasure = asked_by(cast.head_coach, cast.child)
    with pytest.raises(IntegrityError), transaction.atomic():
        Erasure.objects.filter(pk=erasure.pk).update(
            confirmed_by=cast.head_coach, confirmed_at=timezone.now()
        )


def test_neither_coach_nor_guardian_confirms(cast, client_for):
    erasure = asked_by(cast.guardian, cast.child)
    address = reverse("program:erasure", args=[erasure.public_id])
    for person in (cast.coach, cast.guardian, cast.athlete):
        assert client_for(person).post(address).status_code == 404
    assert not confirm(erasure, cast.coach, timezone.now())
    assert Erasure.objects.open().count() == 1


def test_asked_twice_it_is_asked_once_and_can_be_taken_back(cast, client_for):
    parent = client_for(cast.guardian)
    for _ in range(2):
        parent.post(reverse("program:ask_to_erase", args=[cast.child.public_id]))
    assert Erasure.objects.count() == 1
    parent.post(reverse("program:take_back_erasing", args=[cast.child.public_id]))
    assert not Erasure.objects.open().exists()
    assert not confirm(Erasure.objects.get(), cast.head_coach, timezone.now())
    erase.func(Erasure.objects.get().pk)
    assert Child.objects.filter(pk=cast.child.pk).exists()


def test_a_head_coach_who_keeps_the_child_says_why_and_the_family_reads_it(cast, client_for, head):
    erasure = asked_by(cast.guardian, cast.child)
    address = reverse("program:erasure", args=[erasure.public_id])
    assert head.post(address, {"keep": "yes", "because": ""}).status_code == 422
    head.post(address, {"keep": "yes", "because": "An accident is still being looked into."})
    page = client_for(cast.guardian).get(reverse("program:child_data", args=[cast.child.public_id]))
    assert "An accident is still being looked into." in page.content.decode()


def test_done_twice_it_is_done_once(cast):
    erasure = done(asked_by(cast.guardian, cast.child), cast.head_coach)
    first = erasure.done_at
    erase.func(erasure.pk)
    erasure.refresh_from_db()
    assert erasure.done_at == first
    assert len(erased_list.lines()) == 1


# After a restore


def test_who_was_erased_is_erased_again_from_a_backup_that_brings_the_family_back(cast):
    child, guardian = cast.child, cast.guardian
    done(asked_by(guardian, child), cast.head_coach)
    # As an older backup has them: the same keys, the same moments.
    made = guardian.created_at
    child.pk, guardian.pk = None, guardian.pk
    child.user = None
    child.save(force_insert=True)
    User(pk=guardian.pk, email=guardian.email, name="Own Parent", role="guardian").save(
        force_insert=True
    )
    User.objects.filter(pk=guardian.pk).update(created_at=made)
    assert erase_again() == 1
    assert not Child.objects.filter(public_id=child.public_id).exists()
    assert not User.objects.filter(email=guardian.email).exists()
    assert erase_again() == 0


def test_an_account_with_the_same_key_in_another_database_stays(cast):
    done(asked_by(cast.guardian, cast.child), cast.head_coach)
    somebody = UserFactory(name="Somebody Else")
    line = erased_list.lines()[0]
    erased_list.add(
        erased_list.ErasedLine(line.child, ((somebody.pk, "2020-01-01T00:00:00+00:00"),))
    )
    erase_again()
    assert User.objects.filter(pk=somebody.pk).exists()


def test_the_list_holds_keys_and_no_name(cast):
    done(asked_by(cast.guardian, cast.child), cast.head_coach)
    written = erased_list.path().read_text()
    assert set(json.loads(written)) == {"child", "accounts"}
    assert cast.guardian.email not in written
    assert cast.child.given_name not in written


def test_a_line_that_a_full_disk_cut_off_hinders_no_other(cast):
    done(asked_by(cast.guardian, cast.child), cast.head_coach)
    with erased_list.path().open("a") as file:
        file.write('{"child": "12')
    assert len(erased_list.lines()) == 1


def test_where_the_list_cannot_be_written_nothing_is_erased(cast, settings, tmp_path):
    (tmp_path / "a-file").write_text("")
    settings.BACKUPS_DIR = tmp_path / "a-file" / "below"
    erasure = asked_by(cast.guardian, cast.child)
    assert confirm(erasure, cast.head_coach, timezone.now())
    with pytest.raises(NotADirectoryError), transaction.atomic():
        erase.func(erasure.pk)
    assert Child.objects.filter(pk=cast.child.pk).exists()
