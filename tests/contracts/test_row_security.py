"""What a page reads, the database holds to the person who opens it: with every filter of ours taken
out, nobody reads a stranger's row."""

import datetime as dt
import re

import pytest
from django.apps import apps
from django.db import ProgrammingError, connection, transaction

from athletes.models import (
    AccessRules,
    Child,
    GrowthMeasurement,
    Guardianship,
    ImportDraft,
    Invitation,
    OutgoingMail,
)
from athletes.models.children import born_by
from library.shared.acting import acting_as, acting_for_child, acting_for_the_program
from program.models import (
    AssignedSession,
    AssignedSlot,
    Attendance,
    ChildCopy,
    Completion,
    Concern,
    Erasure,
    PainReport,
    ReadByFamily,
    SlotResult,
)
from tests.contracts.test_visibility_everywhere import models_with_a_childs_data
from tests.support.addresses import ALLOWED, TABLED
from tests.support.asking import FOREIGN, OWN, Request, address_of, ask
from tests.support.consents import HEIGHTS, said
from tests.support.scene import NOW, TODAY

PEOPLE = ("head_coach", "coach", "guardian", "athlete")
STRANGERS = re.compile("Strangerschild|Other Parent")

# Narrower or wider than `visible_to` for a reason that stands beside their policy.
OF_THEIR_OWN = {ImportDraft, OutgoingMail, Invitation, ChildCopy, Erasure, ReadByFamily}


# What follows for others from what somebody may do: an exercise is another one, or taken back, for
# everybody; and a choice made for a child goes with its slot of a plan, which is no child's data.
CLOSED = {"program_assignedsession", "athletes_recordedchange"}
FOR_OTHERS = {
    "program:recall": CLOSED,
    "library:edit_exercise": CLOSED,
    "library:picture": CLOSED,
    "library:poses": CLOSED,
    "program:slot_take_out": {"program_override"},
    "program:part_take_out": {"program_override"},
    "program:session_take_out": {"program_override", "program_sessionnews"},
}


def secured():
    with connection.cursor() as cursor:
        cursor.execute("SELECT relname FROM pg_class WHERE relrowsecurity AND relforcerowsecurity")
        return {name for (name,) in cursor.fetchall()}


@pytest.mark.django_db
def test_every_table_with_a_childs_data_is_held_to_its_reader():
    tables = {model._meta.db_table for model in models_with_a_childs_data()}
    tables |= {
        field.remote_field.through._meta.db_table
        for model in models_with_a_childs_data()
        for field in model._meta.local_many_to_many
    }
    assert tables - secured() == set()
    assert len(tables) > 25


def rows_read(model, person):
    with acting_as(person.pk):
        return set(model._base_manager.values_list("pk", flat=True))


def rows_allowed(model, person):
    """What `visible_to` says, and beyond it what an own cohort did with a child that has left."""
    rows, sessions = model._default_manager.all(), AssignedSession.objects.remembered_by(person)
    remembered = {
        Child: lambda: rows.remembered_by(person),
        AssignedSession: lambda: sessions,
        AssignedSlot: lambda: rows.filter(assigned_session__in=sessions),
        Completion: lambda: rows.filter(assigned_session__in=sessions),
        SlotResult: lambda: rows.filter(completion__assigned_session__in=sessions),
        PainReport: lambda: rows.filter(assigned_session__in=sessions),
        Attendance: lambda: rows.remembered_by(person),
    }
    also = remembered[model]() if model in remembered else rows.none()
    allowed = {*rows.visible_to(person).values_list("pk", flat=True)}
    return allowed | {*also.values_list("pk", flat=True)}


@pytest.mark.parametrize(
    "first", ["in the cohort", "has moved on", "is 18 today", "is 18 and lets a guardian read on"]
)
def test_a_person_reads_exactly_what_visible_to_says(scene, first):
    with transaction.atomic():
        if first == "has moved on":
            move_on(scene)
        if first.startswith("is 18"):
            come_of_age(scene, reads_on=first.endswith("read on"))
        wrong, counted = [], 0
        for model in models_with_a_childs_data() - OF_THEIR_OWN:
            for role in PEOPLE:
                person = scene.people[role]
                read, allowed = rows_read(model, person), rows_allowed(model, person)
                counted += len(read)
                if read != allowed:
                    wrong.append((model.__name__, role, read - allowed, allowed - read))
        transaction.set_rollback(True)
    assert wrong == []
    assert counted > 100, "nothing was there to be read"


def come_of_age(scene, *, reads_on):
    Child.objects.filter(pk=scene.own.child.pk).update(birth_date=born_by(TODAY))
    scene.own.child.guardianships.update(reads_on=reads_on)
    guardian, athlete = scene.people["guardian"], scene.people["athlete"]
    said(scene.own.child, athlete, HEIGHTS, at=NOW)
    assert bool(rows_read(AssignedSession, guardian)) == reads_on
    assert rows_read(GrowthMeasurement, athlete)
    assert not rows_read(GrowthMeasurement, guardian)


def move_on(scene):
    scene.own.child.enrolments.update(end=TODAY - dt.timedelta(days=1))


def test_what_is_of_one_person_alone_is_read_by_nobody_else(scene):
    guardian, coach = scene.people["guardian"], scene.people["coach"]
    assert rows_read(ChildCopy, guardian) == set(
        ChildCopy.objects.filter(asked_by=guardian).values_list("pk", flat=True)
    )
    assert rows_read(ImportDraft, coach) == set(
        ImportDraft.objects.filter(owner=coach).values_list("pk", flat=True)
    )
    assert rows_read(ReadByFamily, guardian) == set(
        ReadByFamily.objects.visible_to(guardian).values_list("pk", flat=True)
    )
    assert rows_read(ReadByFamily, guardian)
    assert rows_read(ReadByFamily, coach) == set()
    assert rows_read(Erasure, guardian) == set()
    assert rows_read(ImportDraft, guardian) == set()


def everything_is_visible(patch):
    """As if somebody had forgotten every filter there is."""
    for model in apps.get_models():
        queryset = type(model._default_manager.all())
        for name in ("visible_to", "remembered_by", "logged_with_group_by", "written_by"):
            if name in vars(queryset) or hasattr(queryset, name):
                patch.setattr(queryset, name, lambda rows, user: rows.all())


@pytest.mark.parametrize("role", ["coach", "guardian", "athlete"])
def test_with_every_filter_forgotten_no_page_tells_of_a_stranger(scene, role, monkeypatch):
    everything_is_visible(monkeypatch)
    told, opened = [], 0
    for name in TABLED:
        row = ALLOWED[name]
        if role not in row.door or row.allowed("GET", role, htmx=False) is None:
            continue
        for kind in (OWN, FOREIGN) if row.ids else (OWN,):
            which = (kind,) * len(row.ids)
            answer = ask(
                scene, Request(role, "GET", False, which), address_of(scene, name, role, which)
            )
            opened += answer.response.status_code == 200
            if found := STRANGERS.search(answer.body):
                told.append(f"{name} of {kind}: {found[0]}")
    assert told == []
    assert opened > 10, "no page was opened"


def test_without_row_security_that_same_search_finds_strangers(scene, monkeypatch):
    """So that the test before can fail."""
    everything_is_visible(monkeypatch)
    monkeypatch.setattr("library.shared.access.acting_as", lambda person: acting_for_the_program())
    answer = ask(
        scene,
        Request("guardian", "GET", False, (FOREIGN,)),
        address_of(scene, "program:child_day", "guardian", (FOREIGN,)),
    )
    assert STRANGERS.search(answer.body)


def rows_of(child):
    """A digest of every row that is of this child, by table."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT table_name, column_name FROM information_schema.columns"
            " WHERE column_name IN ('child_id', 'row_child') AND table_name = ANY (%s)",
            [sorted(secured())],
        )
        columns = cursor.fetchall()
        cursor.execute(
            " UNION ALL ".join(
                f"SELECT '{table}', md5(string_agg(of::text, '' ORDER BY of.id))"
                f" FROM {table} of WHERE {column} = {child.pk}"
                for table, column in columns
            )
        )
        return cursor.fetchall()


def sent_with_every_filter_forgotten(scene, role):
    """What was told of a stranger or changed about one, for each form there is, and how many were
    sent."""
    stranger, before = scene.foreign.child, rows_of(scene.foreign.child)
    wrong, sent = [], 0
    for name in TABLED:
        row = ALLOWED[name]
        if role not in row.door or row.allowed("POST", role, htmx=False) is None:
            continue
        if not any(scene.has_foreign(kind) for kind in row.ids):
            continue
        address = address_of(scene, name, role, (FOREIGN,) * len(row.ids))
        with transaction.atomic():
            answer = scene.client(role).post(address, **row.form(scene.foreign))
            sent += 1
            if found := STRANGERS.search(b"".join(answer).decode(errors="replace")):
                wrong.append(f"{name} tells: {found[0]}")
            changed = {table for table, _ in {*rows_of(stranger)} - {*before}}
            wrong += [f"{name} changes {each}" for each in changed - FOR_OTHERS.get(name, set())]
            transaction.set_rollback(True)
    return wrong, sent


@pytest.mark.parametrize("role", ["coach", "guardian"])
def test_with_every_filter_forgotten_nothing_that_is_sent_concerns_a_stranger(
    scene, role, monkeypatch
):
    everything_is_visible(monkeypatch)
    wrong, sent = sent_with_every_filter_forgotten(scene, role)
    assert wrong == []
    assert sent > 10, "no form was sent"


def test_without_row_security_those_same_forms_change_what_is_a_strangers(scene, monkeypatch):
    """So that the test before can fail."""
    everything_is_visible(monkeypatch)
    monkeypatch.setattr(
        "library.shared.access.writing_as", lambda person, request: acting_for_the_program()
    )
    wrong, _ = sent_with_every_filter_forgotten(scene, "guardian")
    assert any("changes program_completion" in each for each in wrong)


def test_a_connection_that_does_not_say_who_acts_reads_and_writes_nothing(scene):
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SELECT set_config('fledge.sees_all', '', true)")
        assert not Child.objects.exists()
        assert not AssignedSlot.objects.exists()
        assert Child.objects.update(given_name="Nobody") == 0
        transaction.set_rollback(True)


def test_a_page_writes_no_row_of_a_child(scene):
    with transaction.atomic(), acting_as(scene.people["guardian"].pk):
        assert Child.objects.exists()
        assert Child.objects.update(given_name="Else") == 0
        with pytest.raises(ProgrammingError, match="row-level security"), transaction.atomic():
            Guardianship.objects.create(child=scene.own.child, guardian=scene.people["head_coach"])
        transaction.set_rollback(True)


def test_it_ends_with_the_page(scene):
    before = Child.objects.count()
    with acting_as(scene.people["guardian"].pk):
        assert Child.objects.count() == 1
        with acting_as(scene.people["coach"].pk):
            assert GrowthMeasurement.objects.count() == 1
        assert Child.objects.count() == 1
        with acting_for_the_program():
            assert Child.objects.count() == before
        assert Child.objects.count() == 1
    assert Child.objects.count() == before


def test_how_long_a_coach_may_look_back_is_asked_of_the_program(scene):
    with transaction.atomic():
        move_on(scene)
        coach, child = scene.people["coach"], scene.own.child
        assert child.pk in rows_read(Child, coach)
        AccessRules.objects.change(scene.people["head_coach"], NOW, history_days=0)
        assert child.pk not in rows_read(Child, coach)
        transaction.set_rollback(True)


def test_what_is_chosen_anew_for_a_child_has_this_child_alone(scene):
    own, foreign = scene.own.child, scene.foreign.child
    with transaction.atomic(), acting_for_child(own.pk, TODAY):
        assert list(Child.objects.all()) == [own]
        assert {each.child for each in AssignedSession.objects.all()} == {own}
        assert Child.objects.filter(pk=foreign.pk).update(given_name="Else") == 0
        assert Child.objects.update(given_name="Same") == 1
        assert not Concern.objects.exists()
        transaction.set_rollback(True)


def test_who_was_switched_off_reads_nothing(scene):
    with transaction.atomic():
        coach = scene.people["coach"]
        type(coach).objects.filter(pk=coach.pk).update(is_active=False)
        for model in models_with_a_childs_data() - {Invitation, ImportDraft}:
            assert rows_read(model, coach) == set(), model.__name__
        transaction.set_rollback(True)
