import pytest
from django.urls import reverse

from tests.factories import BlockFactory, ExerciseFactory, PartFactory, SessionFactory, SlotFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def session(cast):
    session = SessionFactory(block=BlockFactory(cohort=cast.cohort), name="Strong steps")
    part = PartFactory(session=session, name="Step and row", kind="superset", rounds=3)
    SlotFactory(part=part, exercise=ExerciseFactory(revision__name="Slow step down"))
    return session


def test_the_builder_shows_parts_slots_and_what_they_come_to(cast, client_for, session):
    page = client_for(cast.coach).get(reverse("program:build", args=[session.pk]))
    html = page.content.decode()
    assert page.status_code == 200
    assert "Slow step down" in html
