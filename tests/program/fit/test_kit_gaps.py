import pytest
from django.core.management import call_command

from program.common.library_snapshot import library_snapshot
from program.engine.dose.dose import DoseRange, Measure
from program.engine.fit.library import FitExercise, FitLibrary, FitPathway, Need
from program.fit.kit_gaps import JUSTIFIED, Gap, gaps_of


@pytest.fixture
def starter(db):
    call_command("load_library")
    return library_snapshot().fit


def test_every_starter_exercise_has_something_for_every_common_home_or_a_listed_reason(starter):
    assert [gap for gap in gaps_of(starter) if not gap.justified] == []


def test_every_listed_reason_is_still_needed(starter):
    assert {(gap.kit, gap.pathway) for gap in gaps_of(starter)} == set(JUSTIFIED)


def test_a_pathway_that_wants_tiles_at_every_rank_is_a_gap_on_carpet_and_before_the_family_told():
    tiles = (Need("a smooth floor", frozenset({"smooth-floor"})),)
    exercises = tuple(
        FitExercise(
            slug=slug,
            name=slug,
            measure=Measure.REPETITIONS,
            amounts=DoseRange(5, 8, 12),
            needs=tiles,
        )
        for slug in ("slide", "one-leg-slide")
    )
    library = FitLibrary(
        exercises, (FitPathway("slides", "Slides", frozenset({("slide", "one-leg-slide")})),)
    )
    assert set(gaps_of(library)) == {
        Gap(slug, kit, "slides")
        for slug in ("slide", "one-leg-slide")
        for kit in (
            "none of the optional things",
            "carpet only",
            "small room",
            "standing room only",
            "not known yet",
        )
    }
