"""A file of children through the pages: upload, preview, import."""

import csv
import datetime as dt
import io
import re
import smtplib

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.mail.backends.locmem import EmailBackend
from django.db import IntegrityError, connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from athletes.importing.drafts import draft_of, take_over
from athletes.models import Child, Enrolment, ImportDraft, Invitation
from program.models import Session
from program.publish.publishing import publish
from tests.support.children_pages import assert_well_made, errors_of, text
from tests.support.factories import ChildFactory
from tests.support.invitations import come_in, link_in
from tests.support.markup import markup
from tests.support.sliding import session_with
from tests.support.work import work_off
from tests.support.workbooks import filled, saved, with_parts

pytestmark = pytest.mark.django_db


@pytest.fixture
def head(cast, client_for):
    """Who adds; what a coach asks for is in `tests/athletes/test_asking_to_add.py`."""
    return client_for(cast.head_coach)


HEADINGS = "given name,family initial,birth date,cohort,guardian email"


def table(*rows: str) -> str:
    return "\n".join([HEADINGS, *rows])


def many(count: int) -> str:
    rows = (f"Name{n},T,2015-06-15,Own cohort,parent{n}@example.org" for n in range(count))
    return table(*rows)


def upload(client, content: str | bytes, name: str = "children.csv", **fields):
    content = content.encode() if isinstance(content, str) else content
    file = SimpleUploadedFile(name, content)
    return client.post(reverse("athletes:import"), {"file": file} | fields)


def uploaded(client, content, name: str = "children.csv", **fields) -> str:
    """The address of the preview."""
    answer = upload(client, content, name, **fields)
    assert answer.status_code == 302, errors_of(answer)
    return answer.headers["location"]


def confirm(client, preview: str, **fields):
    return client.post(f"{preview}add/", fields, follow=True)


def test_a_file_becomes_children_in_their_cohort_and_mails_to_their_parents(
    cast, head, mailoutbox, today
):
    preview = uploaded(head, table("Lea,B,2014-02-03,own COHORT,Mum@example.org dad@example.org"))
    assert not Child.objects.filter(given_name="Lea").exists()
    answer = confirm(head, preview)
    assert "1 child is added." in text(answer)
    lea = Child.objects.get(given_name="Lea")
    assert (lea.family_initial, lea.birth_date, lea.sex) == ("B", dt.date(2014, 2, 3), "")
    enrolment = Enrolment.objects.get(child=lea)
    assert (enrolment.cohort, enrolment.start, enrolment.end) == (cast.cohort, today, None)
    work_off()
    assert [mail.to for mail in mailoutbox] == [["mum@example.org"], ["dad@example.org"]]
    head.logout()
    assert come_in(head, link_in(mailoutbox[0]), "Mum").status_code == 302
    assert [guardian.email for guardian in lea.guardians.all()] == ["mum@example.org"]


def test_imported_children_get_what_is_published_for_their_cohort(cast, head, slides, today):
    session = session_with(cast.cohort, "heel-walk-out")
    Session.objects.filter(pk=session.pk).update(date=today)
    publish(session, cast.coach, timezone.now())
    answer = confirm(head, uploaded(head, many(2)))
    work_off()
    assert "What is published for their cohorts reaches them by itself." in text(answer)
    new = Child.objects.filter(given_name__startswith="Name")
    assert session.assigned.filter(child__in=new).count() == 2


def test_a_letter_for_the_sex_that_means_nothing_here_leaves_it_out_and_the_preview_says_so(
    cast, head
):
    """It is optional; only how growth is estimated hangs on it."""
    headings = "given name,family initial,birth date,sex,cohort"
    rows = ("Lea,B,2014-02-03,x,Own cohort", "Ben,K,2014-02-03,m,Own cohort")
    preview = uploaded(head, "\n".join([headings, *rows]))
    read = text(head.get(preview))
    assert "2 new, 0 already here, 0 wrong" in read
    assert "added without the sex: “x” is not understood. Write girl, boy, or nothing." in read
    assert read.count("added without") == 1
    confirm(head, preview)
    new = Child.objects.filter(given_name__in=["Lea", "Ben"])
    assert dict(new.values_list("given_name", "sex")) == {"Lea": "", "Ben": "male"}


def test_the_preview_says_what_becomes_of_every_row_and_why(cast, coach):
    content = table(
        "Lea,B,2014-02-03,Own cohort,",
        "mira,t,15.06.2015,Own cohort,",
        "LEA,b,03/02/2014,Own cohort,",
        "Ben,K,2030-01-01,Elsewhere,nobody",
        "Tim,K,2014-01-01,Own cohort,,one,too,many",
    )
    preview = uploaded(coach, content)
    answer = coach.get(preview)
    assert_well_made(answer)
    read = text(answer)
    assert "1 new, 2 already here, 2 wrong" in read
    assert "2 Lea B. 3 Feb 2014 Own cohort" in read
    assert "3 mira T. 15 Jun 2015 Own cohort already here" in read
    assert "4 LEA B. 3 Feb 2014 Own cohort the same child as in row 2" in read
    assert "row 5 birth date: This birth date is in the future." in read
    assert "cohort: “Elsewhere” is not one of your cohorts. Yours: Own cohort." in read
    assert "guardian email: “nobody” is not an email address." in read
    assert "row 6 the row: More cells than headings." in read


def test_only_the_new_rows_are_added(cast, head):
    content = table("Lea,B,2014-02-03,Own cohort,", "Mira,T,2015-06-15,Own cohort,", "x,,,,")
    before = Child.objects.count()
    confirm(head, uploaded(head, content))
    assert Child.objects.count() == before + 1


def test_a_file_with_nobody_new_offers_nothing_to_add(head):
    answer = head.get(uploaded(head, table("Mira,T,2015-06-15,Own cohort,")))
    assert "Everybody in this file is already here." in text(answer)
    assert "add/" not in markup(answer)


def test_a_child_of_another_cohort_is_already_here_too(head):
    answer = head.get(uploaded(head, table("Ivo,T,2015-06-15,Own cohort,")))
    assert "0 new, 1 already here, 0 wrong" in text(answer)


def test_a_workbook_becomes_children_as_csv_does(cast, head, mailoutbox):
    book = filled(HEADINGS.split(","), ("Lea", "Bach", dt.date(2014, 2, 3), "Own cohort"))
    book.active.append(("Ben", "K", "04/07/2014", "Own cohort", "mum@example.org"))
    preview = uploaded(head, saved(book), "children.xlsx")
    answer = head.get(preview)
    assert_well_made(answer)
    assert "2 new, 0 already here, 0 wrong" in text(answer)
    assert "3 Ben K. 4 Jul 2014 Own cohort mum@example.org" in text(answer)
    assert "Read as" not in text(answer)
    assert "2 children are added." in text(confirm(head, preview))
    lea = Child.objects.get(given_name="Lea")
    assert (lea.family_initial, lea.birth_date) == ("B", dt.date(2014, 2, 3))
    assert lea.enrolments.get().cohort == cast.cohort
    work_off()
    assert [mail.to for mail in mailoutbox] == [["mum@example.org"]]


def test_what_a_file_is_called_does_not_matter(coach):
    lea = ("Lea", "B", "2014-02-03", "Own cohort", "")
    book = saved(filled(HEADINGS.split(","), lea))
    for content, name in ((book, "children.csv"), (table(",".join(lea)), "children.xlsx")):
        assert "2 Lea B. 3 Feb 2014 Own cohort" in text(coach.get(uploaded(coach, content, name)))


def test_the_preview_tells_which_of_several_sheets_was_read(coach):
    book = filled(HEADINGS.split(","), ("Lea", "B", "2014-02-03", "Own cohort"))
    book.active.title = "Squad & co"
    book.create_sheet("Last year")
    answer = coach.get(uploaded(coach, saved(book), "children.xlsx"))
    assert "Read from “Squad & co”, the first of 2 sheets." in text(answer)


def test_a_formula_that_went_wrong_makes_no_child(coach):
    content = table("Lea,#N/A,2014-02-03,Own cohort,", "Ben,K,2014-02-03,Own cohort,#REF!")
    read = text(coach.get(uploaded(coach, content)))
    assert "0 new, 0 already here, 2 wrong" in read
    assert "row 2 family initial: “#N/A” is what Excel shows where a formula went wrong." in read
    assert "row 3 guardian email: “#REF!” is what Excel shows" in read


@pytest.mark.parametrize(
    ("birth_date", "message"),
    [
        ("2023-01-01", "This child would be 3. Fledge is for ages 4 to 21."),
        ("2004-01-01", "This birth date makes 22 years. Fledge is for ages 4 to 21."),
    ],
)
def test_ages_out_of_range_are_wrong(coach, birth_date, message):
    answer = coach.get(uploaded(coach, table(f"Lea,B,{birth_date},Own cohort,")))
    assert message in text(answer)


def test_a_row_without_a_cohort_goes_where_the_upload_says(cast, head):
    content = table("Lea,B,2014-02-03,,")
    read = text(head.get(uploaded(head, content)))
    assert "No cohort is named, and none was chosen for such rows." in read
    confirm(head, uploaded(head, content, cohort=cast.cohort.pk))
    assert Child.objects.get(given_name="Lea").enrolments.get().cohort == cast.cohort


def test_the_cohort_of_another_coach_is_not_a_choice(cast, coach):
    answer = upload(coach, table("Lea,B,2014-02-03,,"), cohort=cast.other_cohort.pk)
    assert "This cohort is not one of yours." in errors_of(answer)


def test_whether_the_day_or_the_month_comes_first_is_asked_and_the_answer_holds(head):
    preview = uploaded(head, table("Lea,B,04/07/2014,Own cohort,"))
    assert "1 of the dates, such as 04/07/2014, could be read either way" in text(head.get(preview))
    assert "4 Jul 2014" in text(head.get(preview))
    month_first = head.get(preview, {"order": "month"})
    assert "7 Apr 2014" in text(month_first)
    assert 'name="order" value="month"' in markup(month_first)
    confirm(head, preview, order="month")
    assert Child.objects.get(given_name="Lea").birth_date == dt.date(2014, 4, 7)


def test_nothing_is_asked_where_every_day_is_clear(coach):
    preview = uploaded(coach, table("Lea,B,04.07.2014,Own cohort,"))
    assert "day or the month" not in text(coach.get(preview))


def test_a_file_that_is_not_utf_8_shows_the_names_to_look_at(coach):
    preview = uploaded(coach, table("Zoë,B,2014-07-04,Own cohort,").encode("cp1252"))
    assert "Read as Windows-1252. Look whether these names are right: Zoë." in text(
        coach.get(preview)
    )


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "This file is empty."),
        (HEADINGS, "no child under them"),
        ("name;dob\nMira;2015", "Missing: given name, family initial. Found: “name”, “dob”."),
        (b"given name\nZo\x81", "The letters of this file cannot be read."),
        (b"PK\x03\x04rest", "This workbook is damaged. Open it in Excel, save it anew"),
        (
            with_parts({"xl/vbaProject.bin": ""}),
            "This workbook holds macros. In Excel, choose Save",
        ),
        (b"x" * 10 * 1024 * 1024, "This file is too large. At most 5,000 children and 2 MB"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused_at_the_field(coach, content, message):
    answer = upload(coach, content)
    assert answer.status_code == 200
    assert message in errors_of(answer)
    assert not ImportDraft.objects.exists()


def test_without_a_file_the_field_says_so(coach):
    answer = coach.post(reverse("athletes:import"), {})
    assert "Choose a file." in errors_of(answer)


def test_confirming_twice_imports_once_and_answers_alike(head, mailoutbox):
    preview = uploaded(head, table("Lea,B,2014-02-03,Own cohort,mum@example.org"))
    first, second = confirm(head, preview), confirm(head, preview)
    assert "1 child is added." in text(first)
    assert "1 child is added." in text(second)
    assert Child.objects.filter(given_name="Lea").count() == 1
    work_off()
    assert len(mailoutbox) == 1


def test_what_was_read_is_forgotten_once_it_is_used(head):
    preview = uploaded(head, table("Lea,B,2014-02-03,Own cohort,mum@example.org"))
    assert "Lea" in str(ImportDraft.objects.get().table)
    confirm(head, preview)
    assert ImportDraft.objects.get().table == {}
    assert head.get(preview).status_code == 302


def test_a_column_nobody_asked_for_is_not_kept_even_for_the_hour(coach):
    uploaded(coach, "given name,initial,dob,cohort,illness\nLea,B,2014-02-03,Own cohort,asthma")
    kept = str(ImportDraft.objects.get().table)
    assert "Lea" in kept
    assert "asthma" not in kept


def test_a_file_can_be_forgotten_without_adding_anyone(coach):
    preview = uploaded(coach, table("Lea,B,2014-02-03,Own cohort,"))
    coach.post(f"{preview}drop/")
    assert not ImportDraft.objects.exists()
    assert not Child.objects.filter(given_name="Lea").exists()
    assert coach.get(preview).status_code == 404


def test_a_draft_is_its_owners_alone_and_only_for_an_hour(cast, coach, client_for, now):
    preview = uploaded(coach, table("Lea,B,2014-02-03,Own cohort,"))
    for stranger in (cast.head_coach, cast.other_coach, cast.guardian):
        assert client_for(stranger).get(preview).status_code == 404
        assert client_for(stranger).post(f"{preview}add/").status_code == 404
    ImportDraft.objects.update(created_at=now - dt.timedelta(hours=1))
    assert coach.get(preview).status_code == 404
    assert coach.post(f"{preview}add/").status_code == 404
    uploaded(coach, table("Ida,B,2014-02-03,Own cohort,"))
    assert "Lea" not in str(ImportDraft.objects.get().table)


def test_a_child_added_by_somebody_since_the_preview_is_left_alone(head):
    preview = uploaded(head, table("Lea,B,2014-02-03,Own cohort,", "Ida,B,2014-02-03,Own cohort,"))
    ChildFactory(given_name="Lea", family_initial="B", birth_date=dt.date(2014, 2, 3))
    assert "1 child is added." in text(confirm(head, preview))


def test_all_or_nothing_and_no_mail_when_one_is_added_at_this_very_moment(
    head, mailoutbox, monkeypatch
):
    preview = uploaded(head, table("Lea,B,2014-02-03,Own cohort,mum@example.org"))

    def too_late(*_):
        raise IntegrityError("child_once")

    monkeypatch.setattr(Enrolment.objects, "bulk_create", too_late)
    answer = confirm(head, preview)
    assert "Somebody added one of these children at this moment. Look once more." in text(answer)
    assert not Child.objects.filter(given_name="Lea").exists()
    assert not Invitation.objects.exists()
    assert not mailoutbox
    monkeypatch.undo()
    assert ImportDraft.objects.get().used_at is None


def test_children_and_invitations_stay_when_the_mails_cannot_leave_yet(head, monkeypatch):
    preview = uploaded(head, table("Lea,B,2014-02-03,Own cohort,mum@example.org"))

    def broken(*_):
        raise smtplib.SMTPServerDisconnected

    monkeypatch.setattr(EmailBackend, "send_messages", broken)
    confirm(head, preview)
    work_off()
    assert Child.objects.filter(given_name="Lea").exists()
    assert [each.mail_state for each in Invitation.objects.with_mail()] == [
        "its mail is on its way"
    ]


def queries_of(act) -> int:
    with CaptureQueriesContext(
        connection,
    ) as captured:
        act()
    return len(captured)


def test_the_import_takes_as_many_queries_for_many_children_as_for_few(cast, now, today):
    def imported(count):
        Child.objects.filter(given_name__startswith="Name").delete()
        Invitation.objects.all().delete()
        draft = draft_of(many(count).encode(), None, cast.head_coach, now)
        return queries_of(lambda: take_over(draft, cast.head_coach, now, today, month_first=False))

    assert imported(3) == imported(400) <= 14
    assert Child.objects.filter(given_name__startswith="Name").count() == 400


def test_a_file_that_would_invite_too_many_adds_nobody_and_says_so(cast, coach, head):
    preview = uploaded(coach, many(1001))
    confirm(coach, preview)
    read = text(confirm(head, preview))
    assert "Nobody was added. At most 1000 people may be invited in 24 hours." in read
    assert not Child.objects.filter(given_name__startswith="Name").exists()


def test_the_preview_takes_as_many_queries_for_many_rows_as_for_few(coach):
    few, lots = uploaded(coach, many(3)), uploaded(coach, many(400))
    assert queries_of(lambda: coach.get(few)) == queries_of(lambda: coach.get(lots)) <= 12


def test_a_file_of_five_thousand_is_taken_over_whole(cast, head):
    answer = confirm(head, uploaded(head, many(5000)))
    assert "5000 children are added." in text(answer)
    assert Enrolment.objects.filter(cohort=cast.cohort).count() == 5001


def test_the_sample_file_imports_as_it_is(coach, cast):
    sample = coach.get(reverse("athletes:import_sample"))
    assert sample.headers["Content-Disposition"] == 'attachment; filename="children.csv"'
    read = text(coach.get(uploaded(coach, sample.content)))
    assert "2 new, 0 already here, 0 wrong" in read


def test_no_cell_that_is_handed_out_is_a_formula(coach, cast):
    """OWASP on CSV injection: these begin one in a spreadsheet, which may then send the others."""
    for begin in ("=", "+", "-", "@", "\t", "\r"):
        cast.cohort.name = f"{begin}HYPERLINK(A2)"
        cast.cohort.save()
        sample = coach.get(reverse("athletes:import_sample")).content
        rows = list(csv.reader(io.StringIO(sample.decode("utf-8-sig"), newline="")))
        assert {row[4] for row in rows[1:]} == {f"'{begin}HYPERLINK(A2)"}
        read = text(coach.get(uploaded(coach, sample)))
        assert "2 new, 0 already here, 0 wrong" in read


def test_the_upload_page_states_its_limit(coach):
    answer = coach.get(reverse("athletes:import"))
    assert_well_made(answer)
    assert "At most 5,000 children and 2 MB in one file." in text(answer)


def test_the_upload_page_asks_for_csv_or_a_workbook(coach):
    answer = coach.get(reverse("athletes:import"))
    assert "CSV or Excel workbook (.xlsx)" in text(answer)
    accepted = re.search(r'accept="([^"]+)"', markup(answer))[1].split(",")
    assert {".csv", ".xlsx", "text/csv"} < set(accepted)
