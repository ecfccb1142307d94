"""What a coach has answered or reported stands on the first page of each of the family until that
person has opened it."""

import datetime as dt

import pytest
from django.urls import reverse

from program.models import Question, ReadByFamily, Report
from tests.support.consents import said
from tests.support.factories import BlockFactory, ChildFactory, UserFactory
from tests.support.family import EVENING, assign, give, text
from tests.support.planning import queries_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]

YESTERDAY = EVENING - dt.timedelta(days=1)


def answered(session, at=YESTERDAY) -> Question:
    give(session, "Backpack row")
    return Question.objects.create(
        child=session.child,
        assigned_session=session,
        exercise=session.slots.get().revision.exercise,
        text="Her backpack is empty.",
        asked_at=at - dt.timedelta(days=1),
        answer="Two books." if at else "",
        answered_at=at,
    )


def reported(child, at=YESTERDAY, name="Autumn", **more) -> Report:
    block = BlockFactory(name=name)
    return Report.objects.create(block=block, child=child, generated_at=at, sent_at=at, **more)


def first_page(client, child=None):
    return client.get(
        reverse("program:child_day", args=[child.public_id]) if child else reverse("program:family")
    )


def questions(child) -> str:
    return reverse("program:family_questions", args=[child.public_id])


def report_page(report) -> str:
    return reverse("program:family_report", args=[report.child.public_id, report.public_id])


def unread(client, child) -> tuple[bool, bool]:
    """Whether an answer and a report stand on the first page."""
    read = text(first_page(client, child))
    return "has answered the question" in read, "A report is" in read


def test_an_answer_and_a_report_stand_on_the_childs_day_with_their_links(cast, client_for):
    session = assign(cast.child)
    answered(session)
    report = reported(cast.child)
    page = first_page(client_for(cast.guardian), cast.child)
    assert "The coach has answered the question on Backpack row." in text(page)
    assert "A report is here: Autumn." in text(page)
    assert f'href="{questions(cast.child)}"' in page.content.decode()
    assert f'href="{report_page(report)}"' in page.content.decode()
    assert "Two books" not in text(page)


def test_of_several_children_each_has_its_own(cast, client_for):
    nils = ChildFactory(given_name="Nils", cohort=cast.cohort, guardian=cast.guardian)
    reported(nils)
    read = text(first_page(client_for(cast.guardian)))
    assert "Nils Nothing today A report is here: Autumn." in read
    assert read.count("A report is here") == 1


def test_a_corrected_report_says_so(cast, client_for):
    reported(
        cast.child,
        EVENING - dt.timedelta(days=20),
        corrected_at=YESTERDAY,
        correction="The name of the squat.",
    )
    read = text(first_page(client_for(cast.guardian), cast.child))
    assert "A report is corrected: Autumn." in read


def test_each_of_the_family_has_it_until_they_have_opened_it_however_old_it_is(cast, client_for):
    """The answer and the report are of last year; of two guardians and the athlete each reads by
    themselves."""
    last_year = EVENING - dt.timedelta(days=400)
    session = assign(cast.child)
    answered(session, last_year)
    report = reported(cast.child, last_year)
    second = UserFactory(name="Second Parent", role="guardian")
    cast.child.guardianships.create(guardian=second)
    said(cast.child, second)
    family = {who: client_for(who) for who in (cast.guardian, second, cast.athlete)}
    for person, client in family.items():
        assert unread(client, cast.child) == (True, True), person
        assert client.get(questions(cast.child)).status_code == 200
        assert unread(client, cast.child) == (False, True), person
        assert client.get(report_page(report)).status_code == 200
        assert unread(client, cast.child) == (False, False), person
    assert ReadByFamily.objects.count() == 3 * 2


def test_the_page_where_a_family_asks_shows_the_answers_too(cast, client_for):
    session = assign(cast.child)
    answered(session)
    parent = client_for(cast.guardian)
    ids = [cast.child.public_id, session.public_id]
    assert "Two books." in text(parent.get(reverse("program:ask", args=ids)))
    assert unread(parent, cast.child) == (False, False)


def test_what_a_phone_fetches_to_keep_or_a_browser_ahead_of_a_click_is_not_read(cast, client_for):
    answered(assign(cast.child))
    parent = client_for(cast.guardian)
    for ahead in ({"x-keeps": "1"}, {"sec-purpose": "prefetch;prerender"}):
        assert "Two books." in text(parent.get(questions(cast.child), headers=ahead))
        assert unread(parent, cast.child) == (True, False)


def test_what_is_answered_anew_or_corrected_is_unread_again(cast, client_for):
    """The first answer was taken back; the report got a correction."""
    answered(assign(cast.child))
    report = reported(cast.child)
    parent = client_for(cast.guardian)
    for page in (questions(cast.child), report_page(report)):
        parent.get(page)
    Question.objects.update(answer="", answered_at=None)
    assert unread(parent, cast.child) == (False, False)
    Question.objects.update(answer="Three books.", answered_at=EVENING)
    Report.objects.update(corrected_at=EVENING, correction="The name of the squat.")
    assert unread(parent, cast.child) == (True, True)
    for page in (questions(cast.child), report_page(report)):
        parent.get(page)
    assert unread(parent, cast.child) == (False, False)


def test_several_answers_are_one_line_and_of_many_reports_the_latest_three_are_named(
    cast, client_for
):
    for number in range(5):
        answered(assign(cast.child))
        reported(cast.child, YESTERDAY + dt.timedelta(minutes=number), name=f"Block {number}")
    parent = client_for(cast.guardian)
    read = text(first_page(parent, cast.child))
    assert "The coach has answered 5 questions." in read
    assert [n for n in range(5) if f"A report is here: Block {n}." in read] == [2, 3, 4]
    assert "2 more reports are unread." in read
    assert text(parent.get(questions(cast.child))).count("New") == 5
    assert text(parent.get(questions(cast.child))).count("New") == 0
    listed = parent.get(reverse("program:family_reports", args=[cast.child.public_id]))
    assert text(listed).count("new") == 5


def test_an_answer_whose_session_is_gone_is_still_to_be_read(cast, client_for):
    session = assign(cast.child)
    answered(session)
    session.delete()
    parent = client_for(cast.guardian)
    assert unread(parent, cast.child) == (True, False)
    assert "Two books." in text(parent.get(questions(cast.child)))


def test_a_coach_who_is_the_parent_has_read_what_they_answered(cast, client_for):
    cast.child.guardianships.create(guardian=cast.coach)
    said(cast.child, cast.coach)
    answered(assign(cast.child))
    coach = client_for(cast.coach)
    assert unread(coach, cast.child) == (True, False)
    Question.objects.update(answered_by=cast.coach)
    assert unread(coach, cast.child) == (False, False)


def test_what_is_not_answered_or_not_sent_is_none(cast, client_for):
    session = assign(cast.child)
    Question.objects.filter(pk=answered(session).pk).update(answer="", answered_at=None)
    Report.objects.filter(pk=reported(cast.child).pk).update(sent_at=None)
    read = text(first_page(client_for(cast.guardian), cast.child))
    assert "answered the question" not in read
    assert "report is" not in read


def test_a_coach_is_not_told_of_what_coaches_wrote_and_reads_it_for_nobody(cast, client_for):
    answered(assign(cast.child))
    report = reported(cast.child)
    coach = client_for(cast.coach)
    assert unread(coach, cast.child) == (False, False)
    for page in (questions(cast.child), report_page(report)):
        assert coach.get(page).status_code == 200
    assert not ReadByFamily.objects.exists()


def test_more_of_it_takes_no_more_queries(cast, client_for):
    ChildFactory(given_name="Nils", cohort=cast.cohort, guardian=cast.guardian)
    answered(assign(cast.child))
    reported(cast.child)
    client, page = client_for(cast.guardian), reverse("program:family")
    few = queries_of(client, page)
    for number in range(4):
        reported(cast.child, name=f"Block {number}")
    assert queries_of(client, page) == few
