"""What a coach finds in the starter library by what a coach types."""

import random
import re
from pathlib import Path

import pytest

from library.loading.writing import load
from library.models import Exercise
from tests.support.factories import ExerciseFactory

STARTER = Path(__file__).resolve().parents[2] / "library" / "starter"

pytestmark = pytest.mark.django_db


@pytest.fixture
def starter():
    load(STARTER)


def found(text) -> list[str]:
    return [exercise.current.name for exercise in Exercise.objects.with_current().search(text)]


def called(text) -> list[str]:
    """All that each exercise found is called, by its own name and others, in small letters."""
    hits = [exercise.current for exercise in Exercise.objects.with_current().search(text)]
    return [" | ".join([hit.name, *hit.other_names]).lower() for hit in hits]


def patterns(text) -> set[str]:
    return {
        exercise.current.pattern
        for exercise in Exercise.objects.with_current().search(text)
        if exercise.likeness > 0
    }


def test_the_exercise_of_that_very_name_comes_first(starter):
    for name in ("Squat", "Bridge", "Side plank", "Crab walk", "Split squat"):
        assert found(name.lower())[0] == name


def test_misspelt_words_find_what_was_meant(starter):
    assert {"Squat", "Half squat", "Split squat"} <= set(found("skwat"))
    assert "Skip along the lane" not in found("skwat")
    assert found("sid plank")[0] == "Side plank"
    assert "Kneeling plank" not in found("sid plank")
    assert patterns("hamstrng") == {"hamstring_slide"}
    assert len(found("hamstrng")) >= 7
    assert found("brid dog") == ["Bird dog"]
    assert found("stpe down") == ["Slow step-down"]
    assert found("airplane") == ["Aeroplane"]
    assert set(found("plnk on knees")) >= {"Side plank from the knees"}


def test_what_coaches_also_call_it_finds_it(starter):
    for typed, first in {
        "press-up": "Floor push",
        "press up": "Floor push",
        "pushup": "Floor push",
        "knee push-up": "Kneeling push",
        "jump rope": "Skipping, two feet together",
        "calf raise": "Two-leg heel raise",
        "Liegestütz": "Floor push",
        "Kniebeuge": "Squat",
        "seilspringen": "Skipping, two feet together",
    }.items():
        assert found(typed)[0] == first, typed
    assert "mobility" in patterns("stretch") & patterns("cool-down")
    assert "Box jump" not in found("jump rope")


def test_an_exercise_of_the_very_name_comes_before_one_that_is_also_called_so():
    ExerciseFactory(revision__name="Wall sit", revision__other_names=["squat"])
    ExerciseFactory(revision__name="Squat", revision__other_names=["knee bend"])
    assert found("squat") == ["Squat", "Wall sit"]
    assert found("knee bend") == ["Squat"]


def test_of_two_that_are_also_called_so_the_one_of_just_that_name_comes_first():
    ExerciseFactory(revision__name="A", revision__other_names=["box", "knee press-up", "ball"])
    ExerciseFactory(revision__name="Z", revision__other_names=["box", "press-up", "ball"])
    assert found("press-up") == ["Z", "A"]


def test_a_word_not_yet_finished_already_finds(starter):
    for typed in ("ham", "hamst", "hamstrin"):
        assert patterns(typed) == {"hamstring_slide"}
    assert "Plank with shoulder taps" in found("sh")


def test_the_right_word_brings_nothing_that_only_looks_like_it(starter):
    assert all("lunge" in names for names in called("lunge"))
    assert found("row")
    assert all(re.search(r"\brow\b", names) for names in called("row"))


def test_whole_families_are_found_by_their_movement_pattern(starter):
    assert patterns("front brace") == {"front_brace"}
    assert "Sit to stand" in found("squat")
    assert found("squat").index("Half squat") < found("squat").index("Sit to stand")
    assert {"One-leg heel raise", "Two-leg heel raise"} <= set(found("calf rase"))


def test_what_an_exercise_says_is_found_in_any_english_form(starter):
    by_words = Exercise.objects.with_current().search("cushion")
    assert "Knee squeeze" in found("cushions")
    assert [exercise.likeness for exercise in by_words] == [0] * len(by_words)


def test_nonsense_finds_nothing_and_no_text_finds_all_by_name(starter):
    assert found("zzzzz") == found("!!!") == found("'\"(&|:*") == []
    names = [exercise.current.name for exercise in Exercise.objects.with_current()]
    assert sorted(found("   "), key=str.lower) == sorted(names, key=str.lower)


def test_a_very_long_word_is_not_too_long_to_be_compared(starter):
    assert found("lorem" * 200) == []


def test_a_search_keeps_what_was_filtered_before(starter):
    landings = Exercise.objects.with_current().filter(current__contacts__gt=0)
    assert {exercise.current.pattern for exercise in landings.search("squat")} == {"jump", "land"}


def test_single_typing_errors_lose_no_exercise(starter):
    """A left out, doubled, wrong or swapped letter, at a random place of every longer word."""
    dice = random.Random(7)
    lost = []
    exercises = list(Exercise.objects.with_current())
    words = {
        word
        for exercise in exercises
        for word in re.findall(r"[a-z]{5,}", exercise.current.name.lower())
    }
    assert len(words) > 80
    for word in sorted(words):
        typed = misspelt(word, dice)
        hits = set(Exercise.objects.with_current().search(typed))
        lost += [
            (typed, exercise.current.name)
            for exercise in exercises
            if re.search(rf"\b{word}\b", exercise.current.name.lower()) and exercise not in hits
        ]
    assert lost == []


def misspelt(word, dice) -> str:
    at = dice.randrange(1, len(word))
    before, here, after = word[:at], word[at], word[at + 1 :]
    return dice.choice(
        [
            before + after,
            before + here + here + after,
            before + "x" + after,
            before[:-1] + here + before[-1] + after,
        ]
    )


def test_a_likeness_is_the_mean_of_the_words_sought():
    """By hand: "sid" begins "side" (0.95), "plnk" is one error from "plank" (0.8 - 0.1)."""
    ExerciseFactory(revision__name="Side plank", revision__pattern="side_brace")
    (hit,) = Exercise.objects.with_current().search("sid plnk")
    assert hit.likeness == pytest.approx((0.95 + 0.7) / 2)


def test_a_pattern_counts_four_fifths_of_a_name():
    ExerciseFactory(revision__name="Sit to stand", revision__pattern="squat")
    (hit,) = Exercise.objects.with_current().search("squat")
    assert hit.likeness == pytest.approx(0.8)
