"""Warm-up and cool-down as kinds of part; until there were any, they were told by their names."""

from importlib import import_module
from types import SimpleNamespace

import pytest
from django.apps import apps
from django.db import connection
from django.urls import reverse

from program.models import Part, Template
from tests.support.factories import BlockFactory, PartFactory, SessionFactory

pytestmark = pytest.mark.django_db

NAMED = {
    "Warm-up": "warm_up",
    "WARMING up with a rope": "warm_up",
    "Warm": "warm_up",
    "Cool-down": "cool_down",
    "cool down and stretch": "cool_down",
    "Cooldown": "cool_down",
    "Warm-down": "cool_down",
    "Cool jumps": "circuit",
    "Strong": "circuit",
}


def test_what_was_named_a_warm_up_or_cool_down_becomes_one_in_sessions_and_templates(cast):
    session = SessionFactory(block=BlockFactory(cohort=cast.cohort))
    for position, name in enumerate(NAMED):
        PartFactory(session=session, position=position, name=name, kind="circuit")
    part = {"name": "Warm-up", "kind": "circuit", "rounds": 2, "rest_seconds": 0, "slots": []}
    content = {"days": 1, "sessions": [[0, {"name": "Warm Tuesday", "parts": [part]}]]}
    template = Template.objects.create(name="Warm", kind="session", content=content)

    migration = import_module("program.migrations.0046_warm_ups_by_their_kind")
    migration.name_becomes_kind(apps, SimpleNamespace(connection=connection))

    assert dict(Part.objects.values_list("name", "kind")) == NAMED
    template.refresh_from_db()
    ((_, kept),) = template.content["sessions"]
    assert kept["parts"][0]["kind"] == "warm_up"
    assert kept["name"] == "Warm Tuesday"


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
