"""A coach is asked as a parent about the own child, whatever else their account may do."""

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.consent_texts import TEXTS
from athletes.models import Consent, Guardianship, Invitation
from program.models import ChildCopy, Erasure
from program.privacy.copies import make_copy
from tests.support.consents import said

pytestmark = pytest.mark.django_db

FAMILY_PAGES = (
    "program:child_data",
    "program:health_views",
    "program:ask_to_erase",
    "program:invite_guardian",
    "athletes:own_sign_in",
    "athletes:growth",
    "athletes:kit",
)


@pytest.fixture(params=["other_coach", "head_coach"])
def parent(request, cast):
    """A coach of other children, or of all, who is the guardian of one."""
    coach = getattr(cast, request.param)
    Guardianship.objects.create(child=cast.child, guardian=coach)
    return coach


def statuses(client, child):
    return {name: client.get(page(name, child)).status_code for name in FAMILY_PAGES}


def page(name, child, *more):
    return reverse(name, args=[child.public_id, *more])


def test_the_pages_of_the_own_child_open_and_those_of_another_do_not(cast, client_for):
    Guardianship.objects.create(child=cast.child, guardian=cast.other_coach)
    coach = client_for(cast.other_coach)
    assert statuses(coach, cast.child) == dict.fromkeys(FAMILY_PAGES, 200)
    # A child of the own cohort is a child to coach, and no more.
    own = statuses(coach, cast.other_child)
    assert own.pop("athletes:growth") == own.pop("athletes:kit") == 200
    assert set(own.values()) == {404}


def test_consents_copies_and_wishes_are_taken(cast, client_for, parent):
    coach, child = client_for(parent), cast.child
    read = {f"{purpose}_text": text.version for purpose, text in TEXTS.items()}
    coach.post(page("athletes:answer_consents", child), {"measurements": "yes"} | read)
    assert Consent.objects.get(child=child, answered_by=parent).given
    coach.post(page("program:invite_guardian", child), {"email": "gran@example.org"})
    assert Invitation.objects.filter(child=child, invited_by=parent).exists()
    coach.post(page("program:ask_for_copy", child))
    copy = ChildCopy.objects.get(asked_by=parent)
    make_copy.func(copy.pk, "https://club.example")
    fetched = page("program:fetch_copy", child, copy.public_id)
    assert coach.post(fetched).status_code == 200
    coach.post(page("program:ask_to_erase", child), {"yes": "yes"})
    erasure = Erasure.objects.get(child=child)
    assert (erasure.asked_by, erasure.why) == (parent, Erasure.Why.ASKED)
    coach.post(page("program:take_back_erasing", child))
    erasure.refresh_from_db()
    assert erasure.ended_at


def test_the_way_there_stands_on_the_page_of_what_is_held(cast, client_for, parent):
    coach = client_for(parent)
    held = coach.get(reverse("program:privacy")).content.decode()
    assert page("program:child_data", cast.child) in held
    assert page("program:child_data", cast.other_child) not in held
    said(cast.child, parent)
    day = coach.get(page("program:child_day", cast.child)).content.decode()
    assert page("athletes:growth", cast.child) in day
    assert reverse("program:calendar_address") in day


def test_a_calendar_is_for_whoever_has_a_child_here(cast, client_for, parent):
    address = reverse("program:calendar_address")
    assert client_for(parent).get(address).status_code == 200
    assert client_for(parent).post(address).status_code == 302
    assert parent.calendar_feed.made_at <= timezone.now()
    assert client_for(cast.coach).get(address).status_code == 404
