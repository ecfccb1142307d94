"""A program that has nobody yet gets its first head coach by a command."""

import io

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from athletes.models import User
from tests.support.factories import CohortFactory, UserFactory
from tests.support.markup import fields_of

pytestmark = pytest.mark.django_db


def test_the_first_head_coach_can_make_cohorts_and_invite_coaches(client_for):
    said = io.StringIO()
    call_command("head_coach", "Ines@Example.org", "Ines Roth", stdout=said)
    assert said.getvalue() == "Ines Roth is head coach and signs in as ines@example.org.\n"
    ines = User.objects.get()
    assert not ines.has_usable_password()
    client = client_for(ines)
    for name in ("new_cohort", "invite_coach"):
        assert client.get(reverse(f"athletes:{name}")).status_code == 200


def test_whoever_makes_a_cohort_is_ticked_as_its_coach_and_in_one_that_is_there_nobody_anew(
    client_for,
):
    ines, other = UserFactory(role="head_coach"), UserFactory(role="coach")
    cohort = CohortFactory(coached_by=[other])
    new = fields_of(client_for(ines).get(reverse("athletes:new_cohort")))
    there = fields_of(client_for(ines).get(reverse("athletes:edit_cohort", args=[cohort.pk])))
    assert (new["coaches"], there["coaches"]) == (str(ines.pk), str(other.pk))


@pytest.mark.parametrize(
    ("email", "name", "why"),
    [
        ("ines", "Ines", "valid email"),
        ("ines@example.org", "  ", "cannot be blank"),
        ("Taken@example.org", "Ines", "already signs in"),
    ],
)
def test_what_cannot_be_a_head_coach_is_refused_with_its_reason(email, name, why):
    UserFactory(email="taken@example.org", role="guardian")
    with pytest.raises(CommandError, match=why):
        call_command("head_coach", email, name)
    assert User.objects.get().role == "guardian"
