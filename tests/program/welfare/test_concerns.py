"""A concern goes to the welfare officers the program names, and past every coach."""

import datetime as dt

import pytest
from django.db import ProgrammingError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from athletes.models import Child, User
from library.shared.acting import acting_as, acting_for_the_program
from program.models import Concern, ConcernEntry, ConcernLook, Erasure, WelfareOfficer, WelfareWords
from program.privacy.erasing import confirm, erase
from tests.support.factories import UserFactory

pytestmark = pytest.mark.django_db

WORDS = "He wants to train with her alone."


def officer(name="Olga Officer"):
    """Somebody with an account and no cohort, who is named."""
    person = UserFactory(name=name, role="coach")
    WelfareOfficer.objects.create(
        person=person, named_at=timezone.now(), in_force_since=timezone.now()
    )
    return person


@pytest.fixture
def officers(db):
    return [officer(), officer("Otto Officer")]


def told(client, **said):
    sent = {"text": WORDS, "about": "", "happened": "on Tuesday", "kept_from": ""} | said
    return client.post(reverse("program:welfare"), sent)


def page_of(concern):
    return reverse("program:concern", args=[concern.public_id])


def test_a_parent_reports_and_the_officers_alone_read_it(
    cast, officers, client_for, mailoutbox, django_capture_on_commit_callbacks
):
    parent = client_for(cast.guardian)
    with django_capture_on_commit_callbacks(execute=True):
        told(parent, about=str(cast.child.public_id))
    concern = Concern.objects.get()
    assert (concern.text, concern.by, concern.reporter) == (WORDS, cast.guardian, "Own Parent")
    assert concern.about.startswith("Mira ")
    assert sorted(mail.to[0] for mail in mailoutbox) == sorted(each.email for each in officers)
    for mail in mailoutbox:
        for word in ("Mira", "alone", "concern", "Own Parent"):
            assert word not in mail.subject + mail.body
    listed = client_for(officers[0]).get(reverse("program:concerns"))
    assert b"Mira" in listed.content
    assert WORDS in client_for(officers[0]).get(page_of(concern)).text
    for person in (cast.coach, cast.head_coach, cast.athlete, cast.other_guardian):
        client = client_for(person)
        assert client.get(reverse("program:concerns")).status_code == 404
        assert client.get(page_of(concern)).status_code == 404
        assert client.post(page_of(concern), {"do": "close"}).status_code == 404
        assert WORDS not in client.get(reverse("program:welfare")).text


def test_the_reporter_sees_received_seen_and_closed_and_adds_to_it(cast, officers, client_for):
    parent, reads = client_for(cast.guardian), client_for(officers[0])
    told(parent)
    concern = Concern.objects.get()
    assert "Received" in parent.get(page_of(concern)).text
    reads.post(page_of(concern), {"do": "write", "text": "Rang the school."})
    reads.post(page_of(concern), {"do": "see"})
    parent.post(page_of(concern), {"do": "write", "text": "And on Thursday again."})
    reads.post(page_of(concern), {"do": "close"})
    theirs, ours = parent.get(page_of(concern)).text, reads.get(page_of(concern)).text
    assert "Seen" in theirs
    assert "Closed" in theirs
    assert "And on Thursday again." in theirs
    assert "And on Thursday again." in ours
    assert "Rang the school." in ours
    assert "Rang the school." not in theirs


def test_whoever_reported_can_neither_say_seen_nor_close(cast, officers, client_for):
    parent = client_for(cast.guardian)
    told(parent)
    concern = Concern.objects.get()
    for do in ("see", "close"):
        assert parent.post(page_of(concern), {"do": do, "text": "x y"}).status_code == 404
    concern.refresh_from_db()
    assert concern.closed_at is None
    parent.post(page_of(concern), {"do": "write", "text": "More."})
    assert ConcernEntry.objects.get().kind == "added"


def test_a_family_may_leave_its_name_out_and_a_coach_may_not(cast, officers, client_for):
    told(client_for(cast.athlete), nameless="on")
    nameless = Concern.objects.get()
    assert (nameless.by, nameless.reporter) == (None, "")
    assert client_for(cast.athlete).get(page_of(nameless)).status_code == 404
    told(client_for(cast.coach), text="Another coach shouts.", nameless="on")
    assert Concern.objects.exclude(pk=nameless.pk).get().by == cast.coach


def test_what_is_about_an_officer_is_kept_from_that_officer(
    cast, officers, client_for, mailoutbox, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        told(client_for(cast.guardian), kept_from=str(officers[1].pk))
    concern = Concern.objects.get()
    assert [mail.to for mail in mailoutbox] == [[officers[0].email]]
    assert client_for(officers[1]).get(page_of(concern)).status_code == 404
    with acting_as(officers[1].pk):
        assert not Concern.objects.exists()


def test_with_fewer_than_two_officers_there_is_no_form_but_whom_to_ring(cast, client_for):
    officer()
    WelfareWords.objects.change(
        cast.head_coach, timezone.now(), whom_to_ring="Ada at the club: 01632 960111"
    )
    parent = client_for(cast.guardian)
    page = parent.get(reverse("program:welfare")).text
    assert "01632 960111" in page
    assert "<textarea" not in page
    assert "emergency number" in page
    told(parent)
    assert not Concern.objects.exists()
    assert "fewer than two" in client_for(cast.head_coach).get(reverse("athletes:people")).text


def test_with_two_officers_the_people_page_is_silent(cast, officers, client_for):
    page = client_for(cast.head_coach).get(reverse("athletes:people")).text
    assert "fewer than two" not in page


def test_the_page_tells_nobody_over_a_shoulder_what_it_is_about(cast, officers, client_for):
    told(client_for(cast.guardian))
    addresses = [reverse("program:welfare"), page_of(Concern.objects.get())]
    for address in addresses:
        answer = client_for(cast.guardian).get(address)
        title = answer.text.partition("<title>")[2].partition("</title>")[0].lower()
        for word in ("concern", "welfare", "safeguard", "report", "abuse", "mira"):
            assert word not in address
            assert word not in title
        assert "no-store" in answer.headers["Cache-Control"]


@pytest.mark.parametrize("who", ["guardian", "athlete", "coach", "head_coach"])
def test_it_stands_in_everybodys_account_menu(cast, client_for, who):
    page = client_for(getattr(cast, who)).get(reverse("program:privacy")).text
    assert reverse("program:welfare") in page


def test_the_database_too_keeps_it_from_coaches_and_head_coaches(cast, officers, client_for):
    told(client_for(cast.guardian))
    concern = Concern.objects.get()
    ConcernEntry.objects.create(
        concern=concern, kind="note", text="Looks grave.", by=officers[0], at=timezone.now()
    )
    client_for(officers[0]).get(page_of(concern))
    tables = (Concern, ConcernEntry, ConcernLook)
    for person in (cast.coach, cast.head_coach, cast.athlete, cast.other_guardian):
        with acting_as(person.pk):
            assert [model.objects.count() for model in tables] == [0, 0, 0]
            with acting_for_the_program():
                assert not Concern.objects.exists(), "not for a count either"
    with acting_as(officers[0].pk):
        assert [model.objects.count() for model in tables] == [1, 1, 1]
    with acting_as(cast.guardian.pk):
        assert [model.objects.count() for model in tables] == [1, 0, 0]
    User.objects.filter(pk=officers[0].pk).update(is_active=False)
    with acting_as(officers[0].pk):
        assert not Concern.objects.exists()


def test_no_filter_of_ours_lets_a_coach_through_either(cast, officers, client_for):
    """Whoever sends a form acts as the program, whom row security does not hold."""
    told(client_for(cast.guardian))
    for person in (cast.coach, cast.head_coach, cast.athlete, cast.other_guardian):
        assert not Concern.objects.visible_to(person).exists()
        assert not Concern.objects.read_by_officer(person).exists()
    assert Concern.objects.visible_to(officers[0]).exists()
    assert Concern.objects.visible_to(cast.guardian).exists()


def test_every_look_of_an_officer_stands_in_a_log_that_officers_alone_read(
    cast, officers, client_for
):
    parent = client_for(cast.guardian)
    told(parent)
    concern = Concern.objects.get()
    parent.get(page_of(concern))
    assert not ConcernLook.objects.exists()
    client_for(officers[0]).get(page_of(concern))
    assert [look.by for look in ConcernLook.objects.all()] == [officers[0]]
    assert "Olga Officer" in client_for(officers[1]).get(page_of(concern)).text
    assert "Olga Officer looked" not in parent.get(page_of(concern)).text


def test_nobody_writes_into_the_log_of_looks_but_who_looks(cast, officers, client_for):
    told(client_for(cast.guardian))
    concern = Concern.objects.get()
    insert = "INSERT INTO program_concernlook (concern_id, by_id, at) VALUES (%s, %s, now())"
    for person, by in ((cast.head_coach, officers[0]), (officers[0], officers[1])):
        with (
            pytest.raises(ProgrammingError, match="row-level security"),
            transaction.atomic(),
            acting_as(person.pk),
            connection.cursor() as cursor,
        ):
            cursor.execute(insert, [concern.pk, by.pk])


def test_sent_twice_it_is_one(cast, officers, client_for):
    parent = client_for(cast.guardian)
    for _ in range(2):
        told(parent, once="7f0c4d525f0e4b7f9d552f8f4c1f3a10")
    assert Concern.objects.count() == 1


def test_erasing_the_child_leaves_its_concern_in_words(
    cast, officers, client_for, settings, tmp_path
):
    """Otherwise whoever it is about could have it destroyed unseen."""
    settings.BACKUPS_DIR = tmp_path
    told(client_for(cast.guardian), about=str(cast.child.public_id))
    yesterday = timezone.now() - dt.timedelta(days=2)
    erasure = Erasure.objects.create(
        child=cast.child, why="asked", asked_by=cast.guardian, asked_at=yesterday
    )
    assert confirm(erasure, cast.head_coach, timezone.now())
    erase.func(erasure.pk)
    assert not Child.objects.filter(pk=cast.child.pk).exists()
    assert "concern" not in str(Erasure.objects.get().counts), "nor does a head coach read of it"
    concern = Concern.objects.get()
    assert (concern.text, concern.by, concern.reporter) == (WORDS, None, "Own Parent")
    assert "Mira" in client_for(officers[0]).get(page_of(concern)).text


def test_the_lists_take_as_many_queries_for_one_as_for_five(cast, officers, client_for):
    counts = []
    for _ in range(2):
        told(client_for(cast.guardian))
        both = []
        for person, name in ((officers[0], "program:concerns"), (cast.guardian, "program:welfare")):
            client = client_for(person)
            with CaptureQueriesContext(connection) as seen:
                client.get(reverse(name))
            both.append(len(seen))
        counts.append(both)
        for number in range(3):
            told(client_for(cast.guardian), text=f"Number {number}.")
    assert counts[0] == counts[1]
