"""From 18 on an athlete with an own sign-in says for themself what a guardian said, and guardians
read on only where the athlete lets them."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.models import (
    Child,
    GrowthMeasurement,
    Guardianship,
    Invitation,
    RecordedChange,
)
from athletes.models.children import age_on, born_by
from athletes.turning_18 import tell_of_turning_18
from program.models import Erasure
from tests.support.children_pages import assert_well_made, text
from tests.support.consents import HEIGHTS, said
from tests.support.factories import UserFactory
from tests.support.invitations import come_in, invitations_in, link_in
from tests.support.work import work_off

pytestmark = pytest.mark.django_db

PAGE = reverse("athletes:who_reads")
DAY = "program:child_day"
FOR_WHO_DECIDES = (
    "athletes:kit",
    "athletes:growth",
    "program:child_data",
    "program:ask_to_erase",
    "program:health_views",
    "program:invite_guardian",
)


def born(child: Child, years: int, days: int = 0) -> None:
    """So many years ago, and some days more or less."""
    today = timezone.localdate()
    day = today.replace(year=today.year - years) - dt.timedelta(days=days)
    Child.objects.filter(pk=child.pk).update(birth_date=day)
    child.refresh_from_db()


def opens(client, child, *names) -> set[str]:
    answers = {
        name: client.get(reverse(name, args=[child.public_id])).status_code for name in names
    }
    assert set(answers.values()) <= {200, 302, 404}
    return {name for name, status in answers.items() if status != 404}


def told(mailoutbox) -> dict[str, str]:
    work_off()
    return {mail.to[0]: mail.subject + mail.body for mail in mailoutbox}


def test_whoever_was_born_by_a_day_is_18_on_that_day():
    days = [dt.date(2026, 11, 4), dt.date(2028, 2, 29), dt.date(2027, 2, 28), dt.date(2027, 3, 1)]
    for day in days:
        last = born_by(day)
        assert age_on(last, day) >= 18
        assert age_on(last + dt.timedelta(days=1), day) == 17, day
    leap = dt.date(2008, 2, 29)
    assert [leap <= born_by(day) for day in (dt.date(2026, 2, 28), dt.date(2026, 3, 1))] == [
        False,
        True,
    ]


def test_on_the_18th_birthday_the_athlete_takes_over(cast, client_for):
    parent, own = client_for(cast.guardian), client_for(cast.athlete)
    born(cast.child, 18, days=-1)  # tomorrow
    assert opens(parent, cast.child, DAY, *FOR_WHO_DECIDES) == {DAY, *FOR_WHO_DECIDES}
    assert opens(own, cast.child, DAY, *FOR_WHO_DECIDES) == {DAY}
    born(cast.child, 18)
    assert opens(parent, cast.child, DAY, *FOR_WHO_DECIDES) == set()
    assert opens(own, cast.child, DAY, *FOR_WHO_DECIDES) == {DAY, *FOR_WHO_DECIDES}
    assert opens(client_for(cast.coach), cast.child, "athletes:child") == {"athletes:child"}
    for name in FOR_WHO_DECIDES:
        assert_well_made(own.get(reverse(name, args=[cast.child.public_id])))


def test_the_athlete_agrees_measures_invites_and_asks_to_be_erased(cast, client_for):
    born(cast.child, 19)
    own, ids = client_for(cast.athlete), [cast.child.public_id]
    assert own.get(reverse("athletes:growth", args=ids)).status_code == 200
    said(cast.child, cast.athlete, HEIGHTS, at=timezone.now())
    GrowthMeasurement.objects.create(child=cast.child, on=dt.date(2026, 10, 1), height=170)
    assert "170" in text(own.get(reverse("athletes:growth", args=ids)))
    own.post(reverse("athletes:kit", args=ids), {"nothing": "on"})
    assert cast.child.home_kit.answered_by == cast.athlete
    own.post(reverse("program:invite_guardian", args=ids), {"email": "gran@x.example"})
    invited = Invitation.objects.get()
    gran = invited.accept(timezone.now(), name="Gran")
    assert not Child.objects.visible_to(gran).exists(), "who came in reads once they are let"
    own.post(reverse("program:ask_to_erase", args=ids))
    assert Erasure.objects.visible_to(cast.athlete).get().asked_by == cast.athlete


def test_a_guardian_whom_the_athlete_lets_reads_on_and_decides_nothing(cast, client_for):
    born(cast.child, 18)
    other = UserFactory(name="Other Guardian")
    cast.child.guardianships.create(guardian=other)
    own = client_for(cast.athlete)
    page = own.get(PAGE)
    assert_well_made(page)
    assert "Own Parent" in text(page)
    own.post(PAGE, {"who": [cast.child.guardianships.get(guardian=cast.guardian).pk]})
    recorded = RecordedChange.objects.get(table="athletes_guardianship", what="changed")
    assert (recorded.by, recorded.after) == (cast.athlete, {"reads_on": True})
    parent = client_for(cast.guardian)
    assert opens(parent, cast.child, DAY, *FOR_WHO_DECIDES) == {DAY}
    assert "say what is at home" not in text(parent.get(reverse("program:home"), follow=True))
    assert opens(client_for(other), cast.child, DAY) == set()
    own.post(PAGE, {})
    assert opens(parent, cast.child, DAY) == set()


def test_it_is_asked_from_a_month_before_and_of_the_athlete_alone(cast, client_for):
    own = client_for(cast.athlete)
    row = cast.child.guardianships.get()
    born(cast.child, 18, days=-32)
    assert "a month before" in text(own.get(PAGE))
    own.post(PAGE, {"who": [row.pk]})
    assert not Guardianship.objects.get(pk=row.pk).reads_on
    born(cast.child, 18, days=-29)
    for person in (cast.guardian, cast.coach, cast.head_coach):
        assert client_for(person).get(PAGE).status_code == 404
    own.post(PAGE, {"who": [row.pk, cast.other_child.guardianships.get().pk]})
    assert [each.pk for each in Guardianship.objects.filter(reads_on=True)] == [row.pk]


def test_without_an_own_sign_in_all_stays_as_it_was(cast, client_for):
    born(cast.child, 18)
    Child.objects.filter(pk=cast.child.pk).update(user=None)
    parent = client_for(cast.guardian)
    assert opens(parent, cast.child, DAY, *FOR_WHO_DECIDES) == {DAY, *FOR_WHO_DECIDES}


def test_a_head_coach_invites_an_athlete_of_18_and_no_guardian_is_asked(
    cast, client_for, client, mailoutbox
):
    born(cast.child, 18)
    Child.objects.filter(pk=cast.child.pk).update(user=None)
    address = reverse("athletes:invite_family", args=[cast.child.public_id])
    client_for(cast.head_coach).post(address, {"email": "mira@x.example", "role": "athlete"})
    work_off()
    (mail,) = invitations_in(mailoutbox)
    come_in(client, link_in(mail), "Mira")
    assert opens(client_for(cast.guardian), cast.child, DAY) == set()


def test_a_month_before_and_on_the_day_everybody_is_told_once(cast, mailoutbox):
    born(cast.child, 18, days=-31)
    born(cast.other_child, 18, days=-30)
    tell_of_turning_18(timezone.localdate())
    assert set(told(mailoutbox)) == {cast.other_guardian.email, cast.head_coach.email}
    assert "Ivo" in told(mailoutbox)[cast.head_coach.email]
    mailoutbox.clear()
    born(cast.child, 18, days=-30)
    for _ in range(2):
        tell_of_turning_18(timezone.localdate())
    mails = told(mailoutbox)
    assert set(mails) == {cast.guardian.email, cast.athlete.email}
    assert len(mailoutbox) == 2
    assert "Who reads along" in mails[cast.athlete.email]
    mailoutbox.clear()
    in_a_month = timezone.localdate() + dt.timedelta(days=30)
    for _ in range(2):
        tell_of_turning_18(in_a_month)
    assert len(mailoutbox) == 0
    assert set(told(mailoutbox)) == {
        cast.guardian.email,
        cast.athlete.email,
        cast.other_guardian.email,
        cast.head_coach.email,
    }
    assert len(mailoutbox) == 4


def test_of_whoever_trains_here_no_more_only_the_family_is_told(cast, mailoutbox):
    born(cast.other_child, 18)
    cast.other_child.enrolments.update(end=timezone.localdate() - dt.timedelta(days=1))
    tell_of_turning_18(timezone.localdate())
    assert set(told(mailoutbox)) == {cast.other_guardian.email}


def test_mails_about_an_athlete_of_18_go_to_the_athlete(cast):
    assert set(cast.child.family_told()) == {cast.guardian}
    born(cast.child, 18)
    assert set(cast.child.family_told()) == {cast.athlete}
    cast.child.guardianships.update(reads_on=True)
    assert set(cast.child.family_told()) == {cast.athlete, cast.guardian}
