"""After erasing a child nothing of it is left in any row of any table, and all of the others is."""

import datetime as dt

import pytest
from django.core.files.base import ContentFile
from django.db import connection, transaction
from django.utils import timezone

from athletes.importing.drafts import draft_of
from athletes.models import Child, ImportDraft, OutgoingMail
from library.shared.uploads.keeping import uploads
from program.common import stored_rows
from program.models import BoardChange, Erasure, Override, Question, StopReason
from program.privacy.declarations import OF_A_CHILD
from program.privacy.erasing import confirm, erase
from tests.support.work import work_off


@pytest.fixture(autouse=True)
def list_beside_backups(settings, tmp_path):
    settings.BACKUPS_DIR = tmp_path / "backups"


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


def everything_in_the_database():
    """Every row of every table, as text."""
    with connection.cursor() as cursor:
        for name in connection.introspection.table_names():
            cursor.execute(f'SELECT t::text FROM "{name}" t')
            yield from ((name, row) for (row,) in cursor.fetchall())


def test_nothing_of_the_child_is_left_in_any_row_of_any_table(scene):
    with transaction.atomic():
        child = scene.own.child
        Child.objects.filter(pk=child.pk).update(given_name="Goneforgood")
        child.refresh_from_db()
        key, guardian = str(child.public_id), scene.people["guardian"]
        StopReason.objects.filter(session=scene.own.session).update(children=[child.pk, 999_999])
        listed = f"Given name;Family name;Birth date\nGoneforgood;T;{child.birth_date}\n"
        listed += "Ada;B;2015-02-03\n"
        kept = draft_of(listed.encode(), None, scene.people["coach"], timezone.now())
        OutgoingMail.objects.create(
            to="coach@example.org",
            subject="A question",
            body=f"https://club.example/family/{key}/",
            written_at=timezone.now(),
            give_up_at=timezone.now() + dt.timedelta(days=1),
        )
        before = [name for name, row in everything_in_the_database() if "Goneforgood" in row]
        assert len(before) >= 2
        erasure = done(asked_by(guardian, child), scene.people["head_coach"])
        left = [
            (name, row)
            for name, row in everything_in_the_database()
            if "Goneforgood" in row or key in row or guardian.email in row
        ]
        # The farewell leaves, and its row goes with it.
        assert {name for name, _ in left} <= {"athletes_outgoingmail"}
        assert all("erased" in row for _, row in left)
        for held in OF_A_CHILD:
            assert not held.of_child(child).exists(), held.name
        assert [row[1] for row in ImportDraft.objects.get(pk=kept.pk).table["rows"]] == ["Ada"]
        assert StopReason.objects.get(session=scene.own.session).children == [999_999]
        assert erasure.child_id is None
        assert erasure.counts["assignedsession"] == 4
        assert erasure.counts["painreport"] == 1
        transaction.set_rollback(True)


def test_nothing_of_any_other_child_goes(scene):
    with transaction.atomic():
        other = scene.foreign.child
        before = {held.name: held.of_child(other).count() for held in OF_A_CHILD}
        done(asked_by(scene.people["guardian"], scene.own.child), scene.people["head_coach"])
        assert {held.name: held.of_child(other).count() for held in OF_A_CHILD} == before
        assert sum(before.values()) > 20
        transaction.set_rollback(True)


def test_the_photo_goes_with_its_question(scene):
    with transaction.atomic():
        name = Question.objects.get(child=scene.own.child).upload
        assert uploads().exists(name)
        with uploads().open(name) as file:
            content = file.read()
        done(asked_by(scene.people["guardian"], scene.own.child), scene.people["head_coach"])
        work_off()
        assert not uploads().exists(name)
        uploads().save(name, ContentFile(content))  # the scene is everybody's
        transaction.set_rollback(True)


def test_undoing_on_the_board_brings_nothing_of_the_child_back(scene):
    with transaction.atomic():
        slot = scene.own.session.parts.first().slots.first()
        override = Override.objects.get(slot=slot, child=scene.own.child)
        change = BoardChange.objects.create(
            block=scene.own.session.block,
            sentence="Taken out.",
            at=timezone.now(),
            dropped=stored_rows.as_text([slot, override]),
        )
        done(asked_by(scene.people["guardian"], scene.own.child), scene.people["head_coach"])
        change.refresh_from_db()
        assert [type(each.object).__name__ for each in stored_rows.read(change.dropped)] == ["Slot"]
        transaction.set_rollback(True)


def test_what_a_coach_took_out_before_comes_back_without_what_was_decided_for_the_child(scene):
    with transaction.atomic():
        slot = scene.own.session.parts.first().slots.first()
        override = Override.objects.get(slot=slot, child=scene.own.child)
        kept_in_a_session = stored_rows.as_text([slot, override])
        done(asked_by(scene.people["guardian"], scene.own.child), scene.people["head_coach"])
        rows = stored_rows.read(kept_in_a_session)
        assert [type(each.object).__name__ for each in rows] == ["Slot"]
        transaction.set_rollback(True)
