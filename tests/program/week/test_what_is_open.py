"""This week names everything that is open, and says of nothing that it is done while it is not."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.models import Invitation
from athletes.signals import Circumstance
from program.models import PainReport, Question, Resolution
from program.publish.closing import close_and_choose_anew
from program.week.page import week_of
from tests.program.week.test_late_work import grow_late
from tests.support.factories import (
    MONDAY,
    AssignedSessionFactory,
    BlockFactory,
    ChildFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.family import EVENING, text

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]

WEEK = reverse("program:week")
WEDNESDAY, FRIDAY = MONDAY + dt.timedelta(days=2), MONDAY + dt.timedelta(days=4)


@pytest.fixture
def block(cast):
    return BlockFactory(cohort=cast.cohort, name="Autumn", ends_on=MONDAY + dt.timedelta(days=40))


def published(block, date=FRIDAY, **details):
    details = {"published_at": timezone.now(), "published_version": 1} | details
    session = SessionFactory(block=block, date=date, **details)
    SlotFactory(part__session=session)
    return session


def notes(cast):
    return week_of(cast.coach, MONDAY, WEDNESDAY).cohorts[0].notes


def told(cast):
    return [(one.word, one.sentence) for one in notes(cast)]


def test_children_whom_a_published_session_did_not_reach_are_named_until_it_is_decided(cast, block):
    session = published(block, name="Strong steps")
    children = [ChildFactory(given_name=f"Ada{n}", cohort=cast.cohort) for n in range(4)]
    for child in (cast.child, children[0]):
        AssignedSessionFactory(session=session, child=child)
    for child in children:
        Invitation.objects.invite(f"{child.given_name}@x.example", "guardian", cast.coach, child)
    [held] = [each for each in notes(cast) if each.word == "not sent"]
    assert held.sentence == "Ada1 T., Ada2 T. and Ada3 T. did not get Strong steps on Friday."
    assert held.url == f"/sessions/{session.pk}/fit/?different"
    for child in children[1:]:
        Resolution.objects.create(
            child=child, finding=f"decide-{session.pk}", action="seen", sentence="S", at=EVENING
        )
    assert "not sent" not in [word for word, _ in told(cast)]


def test_what_waits_after_this_week_is_counted_with_the_way_to_the_queue(cast, block):
    published(block, date=MONDAY + dt.timedelta(days=9))
    AssignedSessionFactory(session=published(block), child=cast.child)
    assert told(cast) == [
        ("later", "In the two weeks ahead 1 child waits for a session that is yours to decide.")
    ]


def test_questions_changes_and_a_time_of_sparing_that_is_over_are_counted(cast, block):
    AssignedSessionFactory(session=published(block), child=cast.child)
    Question.objects.create(child=cast.child, text="May she row?", asked_at=EVENING)
    cast.child.refits.create(what="kit", at=EVENING, changed=1, waiting=0, withdrawn=0)
    cast.child.restrictions.create(
        region="knee", side="left", kind="no_landing", start=MONDAY, until=MONDAY
    )
    assert told(cast) == [
        ("asks", "1 question from a family has no answer."),
        ("over", "For 1 child a restriction is over, and nobody has said what comes next."),
        ("changed", "Sessions ahead were chosen anew for 1 child; nobody has checked them."),
    ]
    assert {note.url for note in notes(cast)} == {f"/review/?cohort={cast.cohort.pk}"}


def test_families_that_are_not_here_are_counted_by_what_was_done_about_it(cast, block):
    session = published(block)
    AssignedSessionFactory(session=session, child=cast.child)
    for n in range(4):
        child = ChildFactory(given_name=f"Bo{n}", cohort=cast.cohort)
        AssignedSessionFactory(session=session, child=child)
        if n:
            Invitation.objects.invite(f"bo{n}@x.example", "guardian", cast.coach, child)
    Invitation.objects.filter(email="bo1@x.example").update(mail_failed_at=EVENING)
    Invitation.objects.filter(email="bo2@x.example").update(withdrawn_at=EVENING)
    assert told(cast) == [
        ("not reached", "The invitation of 1 family could not be delivered."),
        ("not invited", "2 families are not invited yet."),
        ("not here yet", "1 family is invited and has not signed in."),
    ]


def test_the_same_place_reported_twice_is_one_line(cast, block):
    AssignedSessionFactory(session=published(block), child=cast.child)
    for level, hours in ((6, 5), (4, 1)):
        PainReport.objects.create(
            child=cast.child,
            region="knee",
            side="left",
            level=level,
            reported_at=EVENING - dt.timedelta(hours=hours),
        )
    assert told(cast) == [("hurt", "Mira T.: left knee, 4 of 10, Wed 4 Nov. Reported twice.")]


def test_where_nothing_is_open_the_page_says_what_it_has_looked_at(cast, block, coach):
    AssignedSessionFactory(session=published(block), child=cast.child)
    page = text(coach.get(WEEK))
    assert "to decide" not in page
    assert "The only session of this week is published, and nobody waits for it." in page


def test_sessions_that_are_chosen_anew_late_are_told_to_the_childs_coach(cast, block, client_for):
    for child in (cast.child, cast.other_child):
        close_and_choose_anew(child, Circumstance.KIT, EVENING, EVENING.date())
    grow_late()
    page = text(client_for(cast.coach).get(WEEK))
    assert "Mira T.: sessions still to be chosen anew." in page
    assert "Ivo" not in page
