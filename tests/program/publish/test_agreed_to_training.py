"""What becomes of sessions when a family says no to training, and yes again."""

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.consents import Answer, answer
from athletes.models import ConsentPurpose
from program.engine.fit.reasons import ReasonCode
from program.fit.held_back import held_back
from program.log.logbook import mark_started
from program.log.pain_reports import Reporting, report_pain
from program.models import AssignedSession, PainReport
from program.publish.publishing import publish
from tests.support.consents import said
from tests.support.factories import MONDAY, ChildFactory, UserFactory
from tests.support.family import text
from tests.support.pain import ORIGIN, knee
from tests.support.sliding import has, session_with
from tests.support.work import work_off

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("slides")]

TRAINING = ConsentPurpose.TRAINING


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


@pytest.fixture
def sent(cast):
    """A session that her family has, and that nobody has begun."""
    has(cast.child, "smooth-floor")
    session = session_with(cast.cohort, amount=6)
    publish(session, cast.coach, timezone.now())
    return session


def says(child, person, *, given):
    answer(child, person, {TRAINING: Answer.now(TRAINING, given=given)}, timezone.now())


def of(session, child):
    return AssignedSession.objects.get(session=session, child=child)


def test_after_a_no_nothing_is_offered_to_follow_and_the_place_in_the_group_stays(
    cast, sent, client_for
):
    says(cast.child, cast.guardian, given=False)
    work_off()
    mine, parent = of(sent, cast.child), client_for(cast.guardian)
    ids = [cast.child.public_id, mine.public_id]
    read = text(parent.get(reverse("program:session_day", args=ids)))
    assert "said no to training" in read
    assert "Start —" not in read
    assert parent.get(reverse("program:follow", args=ids)).status_code == 302
    assert cast.child.enrolments.count() == 1
    says(cast.child, cast.guardian, given=True)
    work_off()
    assert not of(sent, cast.child).is_closed
    assert parent.get(reverse("program:follow", args=ids)).status_code == 200


def test_what_is_published_later_leaves_the_child_out_with_that_reason(cast, client_for):
    has(cast.child, "smooth-floor")
    other = ChildFactory(cohort=cast.cohort, guardian=UserFactory(name="Else"))
    has(other, "smooth-floor")
    says(cast.child, cast.guardian, given=False)
    session = session_with(cast.cohort, amount=6)
    publish(session, cast.coach, timezone.now())
    assert [each.child for each in AssignedSession.objects.all()] == [other]
    table = client_for(cast.coach).get(reverse("program:who_gets_what", args=[session.pk]))
    assert "the family does not agree to training" in text(table)
    assert str(ReasonCode.TRAINING_REFUSED) == "training_refused"
    day = reverse("program:child_day", args=[cast.child.public_id])
    read = text(client_for(cast.guardian).get(day))
    assert "said no to training" in read
    assert "The coach is still deciding" not in read


def test_where_one_was_begun_before_the_no_its_page_says_that_no_more_come(cast, sent, client_for):
    mark_started([of(sent, cast.child)], timezone.now())
    says(cast.child, cast.guardian, given=False)
    work_off()
    assert not of(sent, cast.child).is_closed
    ids = [cast.child.public_id, of(sent, cast.child).public_id]
    assert "said no to training" in text(
        client_for(cast.guardian).get(reverse("program:session_day", args=ids))
    )


def test_one_guardian_of_two_is_enough_to_stop_it_and_nobody_who_was_not_asked(cast):
    second = UserFactory(name="Second")
    cast.child.guardianships.create(guardian=second)
    fresh = ChildFactory(cohort=cast.cohort, guardian=UserFactory(name="Fresh"), agrees=())
    assert held_back([cast.child.pk, fresh.pk], MONDAY) == set()
    said(cast.child, second, [TRAINING], given=False)
    assert held_back([cast.child.pk, fresh.pk], MONDAY) == {cast.child.pk}


def test_after_a_no_to_everything_pain_is_reported_and_spared_as_ever(cast, sent):
    said(cast.child, cast.guardian, list(ConsentPurpose), given=False)
    report_pain(cast.child, knee(), Reporting(cast.guardian, timezone.now(), ORIGIN))
    report = PainReport.objects.get()
    assert (report.region, report.spares, report.is_unanswered) == ("knee", True, True)
