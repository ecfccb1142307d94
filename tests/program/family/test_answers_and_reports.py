"""What a coach has answered or reported lately stands on the family's first page."""

import datetime as dt

import pytest
from django.urls import reverse

from program.models import Question, Report
from tests.support.factories import BlockFactory, ChildFactory
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


def test_an_answer_and_a_report_stand_on_the_childs_day_with_their_links(cast, client_for):
    session = assign(cast.child)
    answered(session)
    report = reported(cast.child)
    page = first_page(client_for(cast.guardian), cast.child)
    assert "The coach has answered the question on Backpack row." in text(page)
    assert "A report is here: Autumn." in text(page)
    ids = [cast.child.public_id, session.public_id]
    assert f'href="{reverse("program:ask", args=ids)}"' in page.content.decode()
    read = reverse("program:family_report", args=[cast.child.public_id, report.public_id])
    assert f'href="{read}"' in page.content.decode()
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


def test_after_a_week_it_is_no_news_any_more(cast, client_for):
    """Seven days and an hour ago."""
    long_ago = EVENING - dt.timedelta(days=7, hours=1)
    answered(assign(cast.child), long_ago)
    reported(cast.child, long_ago)
    read = text(first_page(client_for(cast.guardian), cast.child))
    assert "answered the question" not in read
    assert "report is" not in read


def test_what_is_not_answered_or_not_sent_is_none(cast, client_for):
    session = assign(cast.child)
    Question.objects.filter(pk=answered(session).pk).update(answer="", answered_at=None)
    Report.objects.filter(pk=reported(cast.child).pk).update(sent_at=None)
    read = text(first_page(client_for(cast.guardian), cast.child))
    assert "answered the question" not in read
    assert "report is" not in read


def test_a_coach_is_not_told_of_what_coaches_wrote(cast, client_for):
    answered(assign(cast.child))
    reported(cast.child)
    read = text(first_page(client_for(cast.coach), cast.child))
    assert "answered the question" not in read
    assert "report is" not in read


def test_more_of_it_takes_no_more_queries(cast, client_for):
    ChildFactory(given_name="Nils", cohort=cast.cohort, guardian=cast.guardian)
    answered(assign(cast.child))
    reported(cast.child)
    client, page = client_for(cast.guardian), reverse("program:family")
    few = queries_of(client, page)
    for number in range(4):
        reported(cast.child, name=f"Block {number}")
    assert queries_of(client, page) == few
