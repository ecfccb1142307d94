"""Whatever hurts in whatever exercise: the first answer offered leaves that exercise out."""

import datetime as dt

import pytest
from django.core.management import call_command

from library.body import Region, RestrictionKind, Side
from program.common.library_snapshot import library_snapshot
from program.engine.fit.limits import Restriction
from program.models import PainReport
from program.models.resolutions import Do
from program.review.findings.pain import actions_for

NOW = dt.datetime(2026, 11, 2, 18, tzinfo=dt.UTC)


@pytest.fixture
def library(db):
    call_command("load_library")
    return library_snapshot()


def test_for_every_exercise_and_every_place_the_first_answer_leaves_the_exercise_out(library):
    pairs = 0
    for slug, revision in library.revisions.items():
        for region in Region:
            report = PainReport(
                region=region.value, side="left", level=5, revision=revision, reported_at=NOW
            )
            first, *_ = actions_for([report], library.fit)
            rule = Restriction(
                region,
                RestrictionKind(first.do),
                Side.LEFT,
                frozenset(filter(None, first.target.split(","))),
            )
            assert rule.rules_out(library.fit.by_slug[slug]), (slug, region)
            pairs += 1
    assert pairs == len(library.revisions) * len(Region) >= 129 * 12


def test_a_knee_that_hurts_in_a_split_squat_is_not_answered_with_no_landings(library):
    report = PainReport(
        region="knee",
        side="left",
        level=4,
        revision=library.revisions["split-squat"],
        reported_at=NOW,
    )
    first, *others = actions_for([report], library.fit)
    assert (first.do, first.label) == (Do.NO_LOADING, "No loading for two weeks")
    assert [each.do for each in others] == [Do.NO_LANDING, Do.NOTHING]
    assert "and without" in others[0].label
