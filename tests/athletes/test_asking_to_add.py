"""A coach asks, a head coach adds: so no answer tells a coach who trains elsewhere."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from athletes.models import Child, ImportDraft, Invitation
from tests.support.children_pages import assert_well_made, errors_of, text
from tests.support.work import work_off

pytestmark = pytest.mark.django_db

LIST = reverse("athletes:children")
IVO = {"given_name": "Ivo", "family_initial": "T", "birth_date": "2015-06-15"}
NEW = {"given_name": "Lea", "family_initial": "B", "birth_date": "2014-02-03"}


def add(client, cast, fields):
    cohort = {"cohort": cast.cohort.pk}
    return client.post(reverse("athletes:new_child"), fields | cohort, follow=True)


def asked_for_file(client, *rows: str):
    heading = "given name,family initial,birth date,cohort,guardian email"
    file = SimpleUploadedFile("children.csv", "\n".join([heading, *rows]).encode())
    preview = client.post(reverse("athletes:import"), {"file": file}).headers["location"]
    return text(client.get(preview)), text(client.post(f"{preview}add/", follow=True))


def preview_of(draft: ImportDraft, name="import_preview") -> str:
    return reverse(f"athletes:{name}", args=[draft.public_id])


def without(words: str, *names: str) -> str:
    for name in names:
        words = words.replace(name, "…")
    return words


def test_a_coach_reads_the_same_whether_the_child_trains_elsewhere_or_nowhere(cast, coach):
    elsewhere, nowhere = add(coach, cast, IVO), add(coach, cast, NEW)
    assert elsewhere.redirect_chain == nowhere.redirect_chain
    said = "The head coach is asked to add"
    assert said in text(elsewhere)
    assert said in text(nowhere)
    assert Child.objects.count() == 2
    ImportDraft.objects.all().delete()
    here = asked_for_file(coach, "Ivo,T,2015-06-15,Own cohort,a@example.org")
    ImportDraft.objects.all().delete()
    new = asked_for_file(coach, "Lea,B,2014-02-03,Own cohort,a@example.org")
    for one, other in zip(here, new, strict=True):
        assert without(one, "Ivo T.", "15 Jun 2015") == without(other, "Lea B.", "3 Feb 2014")
    assert Child.objects.count() == 2
    assert not Invitation.objects.exists()


def test_a_child_a_coach_may_see_is_still_said_to_be_here(cast, coach):
    mira = {"given_name": "mira", "family_initial": "t", "birth_date": "2015-06-15"}
    assert "already here" in errors_of(add(coach, cast, mira))
    assert not ImportDraft.objects.exists()


def test_a_coach_changes_no_name_or_birth_date_to_try_who_is_here(cast, coach, client_for):
    address = reverse("athletes:edit_child", args=[cast.child.public_id])
    assert "changed by the head coach" in text(coach.get(address))
    assert coach.post(address, IVO | {"sex": "female"}).status_code == 302
    cast.child.refresh_from_db()
    assert (cast.child.given_name, cast.child.sex) == ("Mira", "female")
    assert "already here" in errors_of(client_for(cast.head_coach).post(address, IVO))


def test_the_head_coach_hears_and_adds_what_a_coach_asked_for(
    cast, coach, client_for, mailoutbox, today
):
    add(coach, cast, NEW)
    work_off()
    assert [(mail.to, "Lea" in mail.subject + mail.body) for mail in mailoutbox] == [
        ([cast.head_coach.email], False)
    ]
    draft = ImportDraft.objects.get()
    head = client_for(cast.head_coach)
    assert "Owning Coach asks to add 1 child" in text(head.get(LIST))
    page = head.get(preview_of(draft))
    assert_well_made(page)
    assert "Lea B. 3 Feb 2014 Own cohort" in text(page)
    head.post(preview_of(draft, "import_confirm"))
    enrolment = Child.objects.get(given_name="Lea").enrolments.get()
    assert (enrolment.cohort, enrolment.start) == (cast.cohort, today)
    work_off()
    assert mailoutbox[-1].to == [cast.coach.email]
    assert "asks to add" not in text(head.get(LIST))


def test_a_child_that_trains_elsewhere_joins_the_cohort_asked_for(cast, coach, client_for, today):
    add(coach, cast, IVO)
    draft = ImportDraft.objects.get()
    head = client_for(cast.head_coach)
    read = text(head.get(preview_of(draft)))
    assert "1 child is here already and would join the cohort asked for" in read
    head.post(preview_of(draft, "import_confirm"))
    assert Child.objects.filter(given_name="Ivo").get() == cast.other_child
    joined = cast.other_child.enrolments.get(cohort=cast.cohort)
    assert (joined.start, joined.end) == (today, None)
    assert cast.other_child.enrolments.get(cohort=cast.other_cohort).end is None
    head.post(preview_of(draft, "import_confirm"))
    assert cast.other_child.enrolments.count() == 2


def test_what_was_asked_for_is_taken_back_by_the_coach_or_declined(
    cast, coach, client_for, mailoutbox
):
    for client in (coach, client_for(cast.head_coach)):
        add(coach, cast, NEW)
        add(coach, cast, NEW)
        draft = ImportDraft.objects.get()
        assert "1 child waits for the head coach" in text(coach.get(LIST))
        client.post(preview_of(draft, "import_drop"))
        assert not ImportDraft.objects.exists()
    assert not Child.objects.filter(given_name="Lea").exists()
    work_off()
    assert "has not added" in mailoutbox[-1].body


def test_the_families_are_invited_in_the_coachs_name_once_their_child_is_added(
    cast, coach, client_for
):
    asked_for_file(coach, "Lea,B,2014-02-03,Own cohort,mum@example.org")
    client_for(cast.head_coach).post(preview_of(ImportDraft.objects.get(), "import_confirm"))
    assert Invitation.objects.get().invited_by == cast.coach


@pytest.mark.usefixtures("no_second_factor_needed")
def test_what_was_asked_for_waits_a_month_and_only_the_head_coach_sees_it(
    cast, coach, client_for, now, monkeypatch
):
    add(coach, cast, NEW)
    draft = ImportDraft.objects.get()
    for days, status in ((29, 200), (31, 404)):
        monkeypatch.setattr("django.utils.timezone.now", lambda d=days: now + dt.timedelta(days=d))
        assert client_for(cast.head_coach).get(preview_of(draft)).status_code == status
        assert client_for(cast.other_coach).get(preview_of(draft)).status_code == 404


def test_the_order_of_day_and_month_goes_along(cast, coach, client_for):
    heading = "given name,family initial,birth date,cohort"
    file = SimpleUploadedFile("a.csv", f"{heading}\nLea,B,04/07/2014,Own cohort".encode())
    preview = coach.post(reverse("athletes:import"), {"file": file}).headers["location"]
    coach.post(f"{preview}add/", {"order": "month"})
    head = client_for(cast.head_coach)
    assert "7 Apr 2014" in text(head.get(preview))
    head.post(f"{preview}add/")
    assert Child.objects.get(given_name="Lea").birth_date == dt.date(2014, 4, 7)
