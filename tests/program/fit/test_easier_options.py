"""The easier option is held to a child's limits as the exercise is, over the whole starter library.

Each exercise is fitted as written to a child of fourteen with every item there is, under every
restriction there can be: 12 regions, 3 kinds.
"""

from itertools import product

import pytest
from django.core.management import call_command
from django.utils import timezone

from athletes.changes import Rule
from library.body import Region, RestrictionKind, Side
from library.models import Exercise, Item
from program.common.library_snapshot import library_snapshot
from program.engine.fit.fitting import WrittenSlot, fit_session
from program.engine.fit.limits import FitChild, Restriction
from program.engine.prescription import Prescription
from program.fit.forbidden import forbidden_among
from program.models import AssignedSession, AssignedSlot
from program.publish.publishing import publish
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.sliding import has

pytestmark = pytest.mark.django_db

EVERY_RULE = [Restriction(region, kind) for region, kind in product(Region, RestrictionKind)]


@pytest.fixture
def starter():
    call_command("load_library")
    return library_snapshot().fit


def slot_of(exercise) -> WrittenSlot:
    return WrittenSlot(
        key="slot",
        exercise=exercise.slug,
        prescription=Prescription(exercise.amounts.usual, str(exercise.tempo or "")),
    )


def test_fit_offers_no_easier_option_that_a_restriction_rules_out(starter):
    needs = [need for one in starter.exercises for need in one.needs]
    items = frozenset(item for need in needs for item in need.items)
    offered, wrong = 0, []
    for rule, exercise in product(EVERY_RULE, starter.exercises):
        child = FitChild(key="c", age=14, contact_ceiling=100, kit=items, restrictions=(rule,))
        (fitted,) = fit_session([slot_of(exercise)], child, starter)
        if fitted.easier:
            offered += 1
            if rule.rules_out(starter.by_slug[fitted.easier.exercise]):
                wrong.append((exercise.slug, fitted.easier.exercise, rule))
    assert offered > 1000
    assert wrong == []


def test_a_new_restriction_finds_every_easier_option_that_it_rules_out(cast, starter):
    """One published session for each exercise of the library, and each restriction after it."""
    has(cast.child, *Item.objects.values_list("slug", flat=True))
    block = BlockFactory(cohort=cast.cohort)
    for exercise in Exercise.objects.select_related("current"):
        session = SessionFactory(block=block)
        current = exercise.current
        part = PartFactory(session=session)
        SlotFactory(part=part, exercise=exercise, amount=current.usual, tempo=current.tempo)
        publish(session, cast.coach, timezone.now(), because="Every exercise, tried.")
    mine = AssignedSession.objects.filter(child=cast.child)
    slots = AssignedSlot.objects.filter(assigned_session__in=mine, easier_revision__isnull=False)
    pairs = list(
        slots.values_list(
            "assigned_session", "revision__exercise__slug", "easier_revision__exercise__slug"
        )
    )
    assert len(pairs) > 50
    by_the_easier_alone = 0
    for rule in EVERY_RULE:
        cast.child.restrictions.all().delete()
        said = Rule(rule.region, Side.BOTH, rule.kind, MONDAY, MONDAY)
        cast.child.restrictions.create(
            **said.place, start=said.start, until=said.until, set_by=cast.coach
        )
        found = {each.pk for each in forbidden_among(mine)}
        for session, given, easier in pairs:
            if rule.rules_out(starter.by_slug[easier]):
                assert session in found, (given, easier, rule)
                by_the_easier_alone += not rule.rules_out(starter.by_slug[given])
    assert by_the_easier_alone > 20
