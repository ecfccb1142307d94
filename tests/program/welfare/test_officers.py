"""Head coaches name the welfare officers, and none makes themself one unnoticed."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from program.models import WelfareOfficer
from tests.program.welfare.test_concerns import officer
from tests.support.factories import UserFactory

pytestmark = pytest.mark.django_db

ADDRESS = "program:welfare_officers"


def name(client, person):
    return client.post(reverse(ADDRESS), {"do": "name", "person": person.pk})


def in_force():
    return {each.person for each in WelfareOfficer.objects.in_force()}


def test_a_head_coach_names_a_coach_and_a_parent_and_never_a_child(cast, client_for):
    head = client_for(cast.head_coach)
    name(head, cast.other_coach)
    name(head, cast.guardian)
    name(head, cast.athlete)
    assert in_force() == {cast.other_coach, cast.guardian}
    page = client_for(cast.other_guardian).get(reverse("program:welfare")).text
    assert "Other Coach" in page
    assert "Own Parent" in page


def test_a_head_coach_who_names_themself_waits_for_another_one(cast, client_for):
    second = UserFactory(name="Second Head", role="head_coach")
    head = client_for(cast.head_coach)
    name(head, cast.head_coach)
    assert in_force() == set()
    waiting = WelfareOfficer.objects.get()
    head.post(reverse(ADDRESS), {"do": "confirm", "officer": waiting.pk})
    assert in_force() == set(), "not by their own word"
    client_for(second).post(reverse(ADDRESS), {"do": "confirm", "officer": waiting.pk})
    assert in_force() == {cast.head_coach}


def test_the_only_head_coach_may_and_the_officers_there_are_told(
    cast, client_for, mailoutbox, django_capture_on_commit_callbacks
):
    there = officer()
    with django_capture_on_commit_callbacks(execute=True):
        name(client_for(cast.head_coach), cast.head_coach)
    assert in_force() == {there, cast.head_coach}
    assert there.email in {mail.to[0] for mail in mailoutbox}


def test_officers_are_told_of_whoever_is_named_or_taken_off(
    cast, client_for, mailoutbox, django_capture_on_commit_callbacks
):
    first, second = officer(), officer("Otto Officer")
    held = WelfareOfficer.objects.get(person=second)
    with django_capture_on_commit_callbacks(execute=True):
        client_for(cast.head_coach).post(reverse(ADDRESS), {"do": "end", "officer": held.pk})
    assert in_force() == {first}
    assert {mail.to[0] for mail in mailoutbox} == {first.email, second.email}


def test_named_twice_is_once(cast, client_for):
    head = client_for(cast.head_coach)
    name(head, cast.other_coach)
    name(head, cast.other_coach)
    assert WelfareOfficer.objects.count() == 1
    with pytest.raises(IntegrityError), transaction.atomic():
        WelfareOfficer.objects.create(person=cast.other_coach, named_at=timezone.now())


def test_nobody_confirms_themself_whatever_the_code_says(cast):
    with pytest.raises(IntegrityError), transaction.atomic():
        WelfareOfficer.objects.create(
            person=cast.head_coach,
            named_by=cast.head_coach,
            named_at=timezone.now(),
            confirmed_by=cast.head_coach,
            in_force_since=timezone.now(),
        )


def test_whoever_is_switched_off_is_no_officer(cast):
    person = officer()
    person.is_active = False
    person.save()
    assert in_force() == set()


def test_the_programs_own_words_say_whom_to_ring(cast, client_for):
    words = {"do": "words", "whom_to_ring": "Ada: 01632 960111", "emergency_number": "112"}
    client_for(cast.head_coach).post(reverse(ADDRESS), words)
    page = client_for(cast.guardian).get(reverse("program:welfare")).text
    assert "01632 960111" in page
    assert "112" in page
