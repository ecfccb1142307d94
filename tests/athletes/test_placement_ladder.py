import pytest
from django.db import connection

from athletes.placement_ladder import ladder_of
from library.models import Pathway
from tests.support.factories import ExerciseFactory, PathwayFactory

pytestmark = pytest.mark.django_db


def ladder(slug="squat"):
    return ladder_of(Pathway.objects.with_graph().get(slug=slug))


def test_a_ladder_goes_from_easier_to_harder_with_equals_side_by_side():
    a, b, c, d = (ExerciseFactory(slug=slug) for slug in "dcba")
    pathway = PathwayFactory(slug="squat", chain=[a, b, c])
    pathway.steps.create(easier=a, harder=d, change="x", ready="y")
    first, second = sorted((b, d), key=lambda exercise: exercise.pk)
    pathway.laterals.create(one=first, other=second)
    assert [(r.exercise.slug, r.rank, r.alternative) for r in ladder().rungs] == [
        ("d", 0, False),
        ("a", 1, False),
        ("c", 1, True),
        ("b", 2, False),
    ]


def test_a_step_up_or_down_is_harder_or_easier_and_never_beside():
    a, b, c, d = (ExerciseFactory(slug=slug) for slug in "dcba")
    pathway = PathwayFactory(slug="squat", chain=[a, b, c])
    pathway.steps.create(easier=a, harder=d, change="x", ready="y")
    first, second = sorted((b, d), key=lambda exercise: exercise.pk)
    pathway.laterals.create(one=first, other=second)
    # d leads to a and c, which are as hard as each other; c leads to b, and so does a beside it.
    steps = {r.exercise.slug: (str(r.easier), str(r.harder)) for r in ladder().rungs}
    assert steps == {
        "d": ("None", "A"),
        "a": ("D", "B"),
        "c": ("D", "B"),
        "b": ("C", "None"),
    }


def test_what_is_on_another_branch_is_no_step_up():
    low, left, right = (ExerciseFactory(slug=slug) for slug in ("low", "left", "right"))
    pathway = PathwayFactory(slug="squat", chain=[low, left])
    pathway.steps.create(easier=low, harder=right, change="x", ready="y")
    steps = {r.exercise.slug: (r.easier, r.harder) for r in ladder().rungs}
    assert steps == {"low": (None, left), "left": (low, None), "right": (low, None)}


def test_a_retired_exercise_is_not_offered_and_does_not_tear_the_pathway():
    easy, gone, hard = (ExerciseFactory() for _ in range(3))
    PathwayFactory(slug="squat", chain=[easy, gone, hard])
    gone.status = "retired"
    gone.save()
    rungs = ladder().rungs
    assert [rung.exercise for rung in rungs] == [easy, hard]
    assert [rung.rank for rung in rungs] == [0, 2]
    assert [(rung.easier, rung.harder) for rung in rungs] == [(None, hard), (easy, None)]


def test_a_pathway_that_contradicts_itself_says_so_and_still_names_its_exercises():
    easy, hard = ExerciseFactory(slug="half-squat"), ExerciseFactory(slug="squat")
    pathway = PathwayFactory(slug="squat", chain=[easy, hard])
    with connection.cursor() as behind_its_back:
        behind_its_back.execute("ALTER TABLE library_lateral DISABLE TRIGGER USER")
    pathway.laterals.create(one=easy, other=hard)
    found = ladder()
    assert found.trouble.startswith("This pathway contradicts itself: ")
    assert "Half squat" in found.trouble
    assert [rung.exercise for rung in found.rungs] == [easy, hard]
    assert [(rung.easier, rung.harder) for rung in found.rungs] == [(None, None)] * 2
