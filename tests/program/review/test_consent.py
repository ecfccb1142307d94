"""What the queue says of agreements that are missing. It is Wednesday evening throughout."""

import datetime as dt

import pytest

from program.models import Resolution
from tests.support.consents import HEIGHTS, said
from tests.support.family import EVENING, WEDNESDAY
from tests.support.queue import press, waiting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]


@pytest.mark.parametrize(("age", "count"), [(8, 0), (9, 1), (15, 1), (16, 0)])
def test_a_missing_agreement_to_heights_is_said_at_the_ages_of_a_spurt(cast, age, count):
    cast.child.birth_date = dt.date(WEDNESDAY.year - age, 11, 4)
    cast.child.save()
    found = waiting(cast.coach, "consent")
    assert [each.headline for each in found] == [
        "Nobody has answered whether it may be measured"
    ] * count


def test_nobody_is_asked_who_said_yes_or_no_and_a_child_without_a_family_waits_for_one(cast):
    for given in (True, False):
        said(cast.child, cast.guardian, HEIGHTS, given=given)
        assert waiting(cast.coach, "consent") == []
    cast.child.guardianships.all().delete()
    (alone,) = waiting(cast.coach, "family")
    assert alone.headline == "Nobody of the family is invited yet"
    assert alone.url == f"/children/{cast.child.public_id}/invite/"


def test_who_would_rather_not_is_never_asked_again_and_who_was_asked_in_three_months(
    cast, client_for
):
    coach = client_for(cast.coach)
    (missing,) = waiting(cast.coach, "consent")
    press(coach, missing, "seen")
    assert Resolution.objects.get().until == WEDNESDAY + dt.timedelta(days=90)
    Resolution.objects.update(until=WEDNESDAY)
    (missing,) = waiting(cast.coach, "consent")
    press(coach, missing, "declined")
    Resolution.objects.update(at=EVENING - dt.timedelta(days=400))
    assert waiting(cast.coach, "consent") == []
