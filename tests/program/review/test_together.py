"""Equal rows of the queue are one row, answered and taken back together; what hurts never is. It is
Wednesday evening throughout."""

import datetime as dt

import pytest
from django.core import mail
from django.urls import reverse
from django.utils import timezone

from athletes.models import Invitation, Placement
from program.models import Resolution
from program.review.finding import URGENCY
from program.review.queue import queue_of
from tests.support.factories import BlockFactory, ChildFactory, CohortFactory, SessionFactory
from tests.support.family import EVENING, WEDNESDAY, text
from tests.support.invitations import invitations_in
from tests.support.queue import did, hurt, pathway_of_three, press, put, waiting
from tests.support.work import work_off

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]


@pytest.fixture(autouse=True)
def nobody_is_asked_about_heights(monkeypatch):
    monkeypatch.setattr("program.review.findings.consent.MEASURED_FROM", 90)


REVIEW = reverse("program:review")
DAY = dt.timedelta(days=1)


def groups(user):
    return [row for row in queue_of(user, WEDNESDAY).rows if row.only is None]


def send(client, group, action, **also):
    each = [f"{one.who.child.public_id} {one.key}" for one in group.findings]
    sent = {"each": each, "action": action, "scope": ""} | also
    return client.post(reverse("program:answer_together"), sent, follow=True)


def take_back(client, resolution):
    address = reverse("program:answer_back", args=[resolution.pk])
    return client.post(address, {"scope": "", "all": "yes"}, follow=True)


@pytest.fixture
def alone(cast):
    """Three children whose families nobody has invited."""
    return [ChildFactory(given_name=name, cohort=cast.cohort) for name in ("Ada", "Bo", "Cy")]


@pytest.fixture
def ready(cast):
    """Three children ready for the same next exercise."""
    squats = pathway_of_three()
    children = [
        ChildFactory(given_name=name, cohort=cast.cohort, guardian=cast.guardian)
        for name in ("Ada", "Bo", "Cy")
    ]
    for child, amount in zip(children, (10, 10, 11), strict=True):
        put(child, squats.pathway, squats.squat, cast.coach)
        for days_ago in (6, 3):
            did(child, cast.guardian, days_ago, [(squats.squat, {"amount": amount})], effort=3)
    return squats


def test_thirty_families_that_nobody_has_invited_are_one_row(cast, alone, coach):
    for n in range(27):
        ChildFactory(given_name=f"Kid{n:02}", cohort=cast.cohort)
    queue = queue_of(cast.coach, WEDNESDAY)
    assert len(queue.findings) == 30
    [row] = queue.rows
    assert row.headline == "Nobody of the family is invited yet"
    assert row.actions == ["Seen, look again in four weeks"]
    assert queue.headline == "One thing, about two minutes"
    page = text(coach.get(REVIEW))
    assert "30 children" in page
    for child in alone:
        assert f'href="/children/{child.public_id}/invite/"' in coach.get(REVIEW).content.decode()


def test_invited_families_are_another_row_and_those_a_mail_did_not_reach_a_third(cast, alone):
    ChildFactory(given_name="Di", cohort=cast.cohort)
    for child in alone:
        Invitation.objects.invite(f"{child.given_name}@x.example", "guardian", cast.coach, child)
    Invitation.objects.filter(child=alone[0]).update(mail_failed_at=EVENING)
    Invitation.objects.filter(child=alone[1]).update(
        created_at=EVENING - 9 * DAY, expires_at=EVENING - DAY
    )
    said = {
        each.who.child.given_name: (each.headline, each.word)
        for each in waiting(cast.coach, "family")
    }
    assert said == {
        "Ada": ("The invitation could not be delivered", "not signed in"),
        "Bo": ("Invited, and the invitation has run out", "not signed in"),
        "Cy": ("Invited, and nobody has signed in yet", "not signed in"),
        "Di": ("Nobody of the family is invited yet", "not signed in"),
    }


def test_the_invitation_is_sent_again_to_all_who_have_not_come(cast, alone, coach):
    for child in alone:
        Invitation.objects.invite(f"{child.given_name}@x.example", "guardian", cast.coach, child)
    [group] = groups(cast.coach)
    each = [f"{one.who.child.public_id} {one.key}" for one in group.findings]
    answer = coach.post(reverse("program:invite_again"), {"each": each, "scope": ""}, follow=True)
    assert "3 invitations are sent again." in text(answer)
    work_off()
    assert sorted(m.to[0] for m in invitations_in(mail.outbox)) == [
        "ada@x.example",
        "bo@x.example",
        "cy@x.example",
    ]
    assert waiting(cast.coach) == []
    assert set(Resolution.objects.values_list("until", flat=True)) == {WEDNESDAY + 7 * DAY}
    take_back(coach, Resolution.objects.first())
    # The first one still works, the second no more.
    assert Invitation.objects.open_at(timezone.now()).count() == 3
    assert len(waiting(cast.coach)) == 3


def test_a_strangers_child_is_sent_no_invitation(cast, coach):
    Invitation.objects.invite("ivo@x.example", "guardian", cast.other_coach, cast.other_child)
    each = [f"{cast.other_child.public_id} consent-invited"]
    answer = coach.post(reverse("program:invite_again"), {"each": each, "scope": ""})
    assert answer.status_code == 404
    assert Invitation.objects.count() == 1


def test_a_group_is_answered_with_one_answer_a_child_and_one_way_back(cast, ready, coach):
    [group] = groups(cast.coach)
    assert group.headline == "Ready for more than Squat"
    assert group.actions == ["Move on to Deep squat", "Not yet"]
    answer = send(coach, group, "Move on to Deep squat")
    assert "3 children: Ready for more than Squat: move on to Deep squat." in text(answer)
    assert Resolution.objects.count() == 3
    assert Placement.objects.current().filter(exercise=ready.deep).count() == 3
    assert waiting(cast.coach) == []
    answer = take_back(coach, Resolution.objects.first())
    assert "3 children: taken back." in text(answer)
    assert Placement.objects.current().filter(exercise=ready.squat).count() == 3
    assert Resolution.objects.standing().count() == 0


def test_what_was_decided_since_stays_and_is_named_when_the_rest_is_taken_back(cast, ready, coach):
    [group] = groups(cast.coach)
    send(coach, group, "Move on to Deep squat")
    bo = group.findings[1].who.child
    put(bo, ready.pathway, ready.sit, cast.coach, days_ago=0)
    page = text(take_back(coach, Resolution.objects.first()))
    assert "2 children: taken back." in page
    assert "Bo T.: something else was decided since, so it stays." in page
    assert Placement.objects.current().get(child=bo).exercise == ready.sit


def test_one_child_of_a_group_is_answered_alone(cast, ready, coach):
    [group] = groups(cast.coach)
    press(coach, group.findings[0], "seen")
    [group] = groups(cast.coach)
    assert [each.who.child.given_name for each in group.findings] == ["Bo", "Cy"]


def test_answered_meanwhile_is_left_and_said(cast, ready, coach, client_for):
    [group] = groups(cast.coach)
    press(client_for(cast.head_coach), group.findings[0], "seen")
    page = text(send(coach, group, "Not yet"))
    assert "2 children: Ready for more than Squat: not yet." in page
    assert "1 was answered already." in page
    assert Resolution.objects.filter(by=cast.coach).count() == 2


def test_a_group_is_put_off_and_handed_on_whole(cast, ready, coach):
    [group] = groups(cast.coach)
    page = text(send(coach, group, "later", until=str(WEDNESDAY + 7 * DAY)))
    assert "put off until 11 November 2026." in page
    take_back(coach, Resolution.objects.first())
    [group] = groups(cast.coach)
    page = text(send(coach, group, "hand", to=cast.head_coach.pk))
    assert "3 children: Ready for more than Squat: given to Head Coach." in page
    assert len(queue_of(cast.coach, WEDNESDAY).elsewhere) == 3


def test_sessions_that_wait_are_a_row_for_each_session_and_each_child_has_its_own_row(cast, alone):
    session = SessionFactory(
        block=BlockFactory(cohort=cast.cohort),
        name="Ropes",
        date=WEDNESDAY + 2 * DAY,
        published_at=EVENING,
        published_version=1,
    )
    [group] = [each for each in groups(cast.coach) if each.first.kind == "decide"]
    assert group.url == f"/sessions/{session.pk}/fit/?different"
    mine = group.findings[0]
    assert mine.url == f"/sessions/{session.pk}/fit/?different#child-{mine.who.child.public_id}"


def test_two_sessions_of_one_name_and_day_are_two_rows(cast, coach):
    for cohort in (cast.cohort, CohortFactory(coached_by=[cast.coach])):
        for _ in range(2):
            ChildFactory(cohort=cohort, guardian=cast.guardian)
        SessionFactory(
            block=BlockFactory(cohort=cohort),
            name="Ropes",
            date=WEDNESDAY + 2 * DAY,
            published_at=EVENING,
            published_version=1,
        )
    first, second = groups(cast.coach)
    assert {len(first.findings), len(second.findings)} == {2, 3}  # Mira is in the first cohort
    assert first.url != second.url


def test_no_health_finding_is_ever_grouped(cast, coach):
    children = [ChildFactory(cohort=cast.cohort, guardian=cast.guardian) for _ in range(2)]
    for child in children:
        hurt(did(child, cast.guardian, 0), cast.guardian)
        child.restrictions.create(
            region="foot", side="left", kind="no_landing", start=WEDNESDAY, until=WEDNESDAY + DAY
        )
        child.refits.create(what="growth", at=EVENING, changed=1, waiting=0, withdrawn=0)
    assert len(waiting(cast.coach)) == 6
    assert groups(cast.coach) == []
    pains = waiting(cast.coach, "pain")
    for action in ("Seen, no change", "seen", "later", "hand"):
        each = [f"{one.who.child.public_id} {one.key}" for one in pains]
        sent = {"each": each, "action": action, "until": str(WEDNESDAY + DAY)}
        sent |= {"to": cast.head_coach.pk, "scope": ""}
        answer = coach.post(reverse("program:answer_together"), sent, follow=True)
        assert "These are answered one by one." in text(answer)
    assert Resolution.objects.count() == 0


def test_a_strangers_child_in_a_group_is_a_404_and_nothing_is_answered(cast, ready, coach):
    [group] = groups(cast.coach)
    each = [f"{one.who.child.public_id} {one.key}" for one in group.findings]
    each.append(f"{cast.other_child.public_id} move_on-1")
    sent = {"each": each, "action": "Not yet", "scope": ""}
    for wrong in (sent, sent | {"each": ["x"]}):
        assert coach.post(reverse("program:answer_together"), wrong).status_code == 404
    assert Resolution.objects.count() == 0


def test_every_kind_of_finding_has_its_word():
    assert len(URGENCY) == len(set(URGENCY))


def test_more_than_twelve_answers_are_all_taken_back_from_the_list_of_answers(cast, coach):
    for n in range(14):
        child = ChildFactory(given_name=f"Kid{n:02}", cohort=cast.cohort, guardian=cast.guardian)
        hurt(did(child, cast.guardian, 0), cast.guardian)
    for finding in waiting(cast.coach, "pain"):
        press(coach, finding, "seen")
    page = coach.get(reverse("program:answers")).content.decode()
    for resolution in Resolution.objects.all():
        assert reverse("program:answer_back", args=[resolution.pk]) in page
    first = Resolution.objects.order_by("pk").first()
    child = coach.get(reverse("program:child_review", args=[first.child.public_id]))
    assert reverse("program:answer_back", args=[first.pk]) in child.content.decode()
