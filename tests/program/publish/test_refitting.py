import datetime as dt

import pytest
from django.utils import timezone

from athletes.changes import answer_kit
from athletes.signals import Circumstance
from program.models import AssignedSession, Refit, Session
from program.publish.refitting import Refitted, refit
from tests.support.factories import MONDAY, ChildFactory, ItemFactory
from tests.support.sliding import has, spare_the_thigh
from tests.support.work import work_off

pytestmark = pytest.mark.django_db


def again(child, what=Circumstance.KIT, today=MONDAY) -> Refitted:
    return refit(child, what, timezone.now(), today)


def gets(session, child) -> list[str]:
    return list(
        session.assigned.filter(child=child).values_list(
            "slots__revision__exercise__slug", flat=True
        )
    )


def test_a_new_answer_about_the_kit_changes_that_childs_session_and_tells_the_coach(
    cast, published
):
    has(cast.child, "carpet")
    assert again(cast.child) == Refitted(changed=1)
    assert gets(published, cast.child) == ["heel-walk-out"]
    assert gets(published, cast.second) == ["heel-slide"]
    (told,) = Refit.objects.visible_to(cast.coach).unseen()
    assert (told.child, told.what, told.changed) == (cast.child, "kit", 1)


def test_a_change_that_changes_no_session_tells_nobody(cast, published):
    assert again(cast.child) == Refitted()
    assert not Refit.objects.exists()


def test_a_restriction_that_leaves_nothing_takes_the_session_back_until_the_coach_decides(
    cast, published
):
    spare_the_thigh(cast.child)
    assert again(cast.child, Circumstance.RESTRICTION) == Refitted(waiting=1, withdrawn=1)
    assert gets(published, cast.child) == []


def test_what_the_child_has_started_stays(cast, published):
    published.assigned.filter(child=cast.child).update(started_at=timezone.now())
    has(cast.child, "carpet")
    assert again(cast.child) == Refitted()
    assert gets(published, cast.child) == ["heel-slide"]


def test_yesterdays_session_stays(cast, published):
    has(cast.child, "carpet")
    assert again(cast.child, today=MONDAY + dt.timedelta(days=1)) == Refitted()


def test_a_half_edited_session_is_not_sent(cast, published):
    Session.objects.filter(pk=published.pk).update(version=published.version + 1)
    published.parts.get().slots.update(amount=11)
    cast.child.restrictions.create(region="ankle", kind="nothing", start=MONDAY, until=MONDAY)
    assert again(cast.child, Circumstance.RESTRICTION) == Refitted(withdrawn=1)


def test_a_half_edited_session_that_breaks_no_limit_stays_as_it_was(cast, published):
    Session.objects.filter(pk=published.pk).update(version=published.version + 1)
    published.parts.get().slots.update(amount=11)
    before = list(AssignedSession.objects.values())
    assert again(cast.child, Circumstance.PLACEMENT) == Refitted()
    assert list(AssignedSession.objects.values()) == before


def test_a_child_who_joins_the_cohort_gets_what_is_published_for_the_days_to_come(cast, published):
    newcomer = ChildFactory(given_name="New", cohort=cast.cohort)
    assert again(newcomer, Circumstance.COHORT) == Refitted(changed=1)
    assert gets(published, newcomer) == ["heel-walk-out"]


def test_a_child_who_leaves_the_cohort_loses_what_was_not_started(cast, published):
    cast.child.enrolments.update(end=MONDAY - dt.timedelta(days=1))
    assert again(cast.child, Circumstance.COHORT) == Refitted(withdrawn=1)


def test_the_answer_of_a_family_reaches_the_sessions_by_itself(cast, published, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda: MONDAY)
    answer_kit(cast.child, [ItemFactory(slug="carpet")], cast.guardian)
    work_off()
    assert gets(published, cast.child) == ["heel-walk-out"]


def test_another_cohorts_coach_is_told_nothing(cast, published):
    has(cast.child, "carpet")
    again(cast.child)
    assert not Refit.objects.visible_to(cast.other_coach).exists()
