"""Warm-up and cool-down as kinds of part."""

import pytest
from django.urls import reverse

from tests.support.factories import BlockFactory, SessionFactory

pytestmark = pytest.mark.django_db


def test_a_warm_up_begins_under_its_own_name(coach, cast):
    session = SessionFactory(block=BlockFactory(cohort=cast.cohort))
    for kind in ("warm_up", "circuit", "cool_down"):
        coach.post(reverse("program:part_new", args=[session.pk]), {"kind": kind})
    written = [(part.name, part.kind, part.rounds) for part in session.parts.all()]
    assert written == [
        ("Warm-up", "warm_up", 1),
        ("Part 2", "circuit", 2),
        ("Cool-down", "cool_down", 1),
    ]
