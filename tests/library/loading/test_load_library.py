import itertools
import json
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.body import Region
from library.figures import movement
from library.loading.writing import load
from library.models import (
    Exercise,
    ExerciseRevision,
    Item,
    Lateral,
    Need,
    Pathway,
    Pattern,
    Step,
)
from library.revisions import Content, revise
from library.tempo import TEMPO, Tempo
from tests.support.library_files import (
    exercise,
    item,
    pathway,
    rows,
    run,
    sound_folder,
    squat,
    step,
    write,
)

pytestmark = pytest.mark.django_db

STARTER = Path(__file__).resolve().parents[3] / "library" / "starter"


@pytest.fixture
def folder(tmp_path):
    return sound_folder(tmp_path)


def test_a_sound_folder_is_loaded_published_and_complete(folder):
    run(folder)
    low_seat = Exercise.objects.select_related("current").get(slug="low-seat")
    assert low_seat.status == "published"
    revision = low_seat.current
    assert (revision.number, revision.name, revision.pattern) == (1, "Low seat", "squat")
    assert (revision.low, revision.usual, revision.high) == (6, 8, 12)
    assert revision.minimum_age == 6
    assert revision.created_by_name == "the library files"
    need = revision.needs.get()
    assert need.what == "a stable seat"
    assert {each.slug for each in need.items.all()} == {"dining-chair", "sofa"}
    only_step = Step.objects.get(pathway__slug="squat")
    assert (only_step.easier.slug, only_step.harder.slug) == ("high-seat", "low-seat")
    assert only_step.ready == "Eight calm ones on two days in a row."
    pair = Lateral.objects.get()
    assert {pair.one.slug, pair.other.slug} == {"wall-push", "door-push"}


def test_a_file_that_does_not_say_how_long_setting_up_takes_is_loaded_with_no_time(folder):
    """As files from before there was such a field."""
    said = exercise("low-seat")
    del said["setup_seconds"]
    squat(folder, exercise("high-seat", setup_seconds=40), said)
    run(folder)
    times = Exercise.objects.values_list("slug", "current__setup_seconds")
    assert {("high-seat", 40), ("low-seat", 0)} <= set(times)


def test_a_second_run_changes_nothing_and_says_so(folder):
    run(folder)
    before = rows()
    assert run(folder) == [
        "Nothing to change: 2 items, 2 pathways, 5 exercises, 2 steps, 1 lateral "
        "were loaded before as they are in the files."
    ]
    assert rows() == before


def test_changed_words_make_a_new_revision_and_keep_the_old_one(folder):
    run(folder)
    squat(folder, exercise("high-seat"), exercise("low-seat", feel="Both thighs, warm and strong."))
    assert "5 exercises in the files: 1 changed" in run(folder)
    low_seat = Exercise.objects.get(slug="low-seat")
    assert low_seat.current.number == 2
    assert low_seat.current.feel == "Both thighs, warm and strong."
    assert low_seat.revisions.get(number=1).feel == "The front of both thighs."
    assert Exercise.objects.get(slug="high-seat").current.number == 1


@pytest.mark.parametrize(
    "change",
    [
        {"needs": []},
        {"needs": [{"what": "a stable seat", "any": ["sofa"]}]},
        {"cues": ["Land like a feather", "Nose over toes"]},
        {"contacts": 1.5, "contact_class": "low"},
        {"tempo": "2-0-X-0"},
        {"min_age": 7},
        {"watch": True},
        {"setup_seconds": 60},
        {"other_names": ["chair squat"]},
    ],
)
def test_whatever_an_exercise_says_otherwise_is_a_new_revision(folder, change):
    run(folder)
    squat(folder, exercise("high-seat"), exercise("low-seat", **change))
    run(folder)
    assert Exercise.objects.get(slug="low-seat").current.number == 2


def test_a_changed_pathway_step_and_item_are_written_over(folder):
    run(folder)
    write(folder, "items.toml", item=[item("dining-chair", about="No wheels." * 2), item("sofa")])
    about = "Another way to say what this pathway trains, and how."
    write(
        folder,
        "squat.toml",
        pathway=pathway("squat", about=about),
        exercise=[exercise("high-seat"), exercise("low-seat")],
        step=[step("high-seat", "low-seat", ready="Ten calm ones, twice in one week.")],
    )
    run(folder)
    assert Item.objects.get(slug="dining-chair").about == "No wheels.No wheels."
    assert Pathway.objects.get(slug="squat").about == about
    assert Step.objects.get(pathway__slug="squat").ready == "Ten calm ones, twice in one week."


def test_an_exercise_no_longer_in_the_files_stays(folder):
    run(folder)
    squat(
        folder, exercise("high-seat"), exercise("box-seat"), steps=[step("high-seat", "box-seat")]
    )
    run(folder)
    gone = Exercise.objects.get(slug="low-seat")
    assert (gone.status, gone.current.number) == ("published", 1)


def test_a_step_no_longer_in_the_files_goes_and_one_made_here_stays(folder):
    run(folder)
    high, low = (Exercise.objects.get(slug=slug) for slug in ("high-seat", "low-seat"))
    floor = Exercise.objects.get(slug="floor-push")
    by_hand = Step.objects.create(
        pathway=Pathway.objects.get(slug="squat"), easier=low, harder=floor, change="x", ready="y"
    )
    squat(
        folder, exercise("high-seat"), exercise("low-seat"), steps=[step("low-seat", "high-seat")]
    )
    run(folder)
    assert list(
        Step.objects.filter(pathway__slug="squat").values_list("easier__slug", "harder__slug")
    ) == [(low.slug, floor.slug), (low.slug, high.slug)]
    assert Step.objects.filter(pk=by_hand.pk).exists()


def test_what_a_coach_changed_here_stays_until_the_files_say_something_new(folder):
    run(folder)
    low_seat = Exercise.objects.get(slug="low-seat")
    said = ExerciseRevision.objects.filter(pk=low_seat.current_id).values().get()
    del said["id"], said["search"]
    by_coach = ExerciseRevision.objects.create(
        **said | {"number": 2, "stop": "Stop at once.", "created_by_name": "Coach"}
    )
    Exercise.objects.filter(pk=low_seat.pk).update(current=by_coach)
    Step.objects.filter(pathway__slug="squat").delete()

    assert run(folder)[0].startswith("Nothing to change")
    low_seat.refresh_from_db()
    assert low_seat.current == by_coach
    assert not Step.objects.filter(pathway__slug="squat").exists()

    squat(folder, exercise("high-seat"), exercise("low-seat", feel="Both thighs, warm and strong."))
    assert run(folder)[-1] == (
        "low-seat was edited here; the files' words are now its current revision."
    )
    low_seat.refresh_from_db()
    assert low_seat.current.number == 3
    assert low_seat.revisions.get(number=2).stop == "Stop at once."


def test_new_words_in_the_files_leave_a_coachs_figure(folder):
    run(folder)
    low_seat = Exercise.objects.select_related("current").get(slug="low-seat")
    text = (movement.FOLDER / "free-squat.toml").read_text()
    said = Content.of(low_seat.current)
    revise(low_seat, Content({**said.fields, "movement": text}, said.needs), by="Coach", base=1)
    squat(folder, exercise("high-seat"), exercise("low-seat", feel="Both thighs, warm and strong."))
    run(folder)
    low_seat = Exercise.objects.select_related("current").get(slug="low-seat")
    assert (low_seat.current.number, low_seat.current.movement) == (3, text)


def test_a_retired_exercise_is_not_brought_back(folder):
    run(folder)
    Exercise.objects.filter(slug="low-seat").update(status="retired")
    squat(folder, exercise("high-seat"), exercise("low-seat", feel="Both thighs, warm and strong."))
    run(folder)
    assert Exercise.objects.get(slug="low-seat").status == "retired"


def test_without_a_folder_the_starter_library_is_loaded():
    run()
    files = [path for path in STARTER.glob("*.toml") if path.name != "items.toml"]
    assert Pathway.objects.count() == len(files)
    assert Exercise.objects.published().with_current().count() >= 80
    (said,) = run()
    assert said.startswith("Nothing to change")


def test_the_starter_library_is_loaded_and_loaded_again_in_under_two_seconds_each():
    for _ in range(2):
        begun = time.perf_counter()
        load(STARTER)
        assert time.perf_counter() - begun < 2


def test_loading_takes_as_many_queries_for_two_exercises_as_for_twenty(
    tmp_path, django_assert_max_num_queries
):
    counts = []
    for size in (2, 20):
        items = [item("dining-chair"), item("sofa"), item(f"stool-{size}")]
        write(tmp_path, "items.toml", item=items)
        slugs = [f"seat-{size}-{number}" for number in range(size)]
        write(
            tmp_path,
            "squat.toml",
            pathway=pathway(f"squat-{size}"),
            exercise=[exercise(slug) for slug in slugs],
            step=[step(one, other) for one, other in itertools.pairwise(slugs)],
        )
        with django_assert_max_num_queries(40) as captured:
            load(tmp_path)
        counts.append(len(captured))
    assert counts[0] == counts[1]


@pytest.mark.parametrize(
    ("kind", "model"),
    [
        ("exercise", ExerciseRevision),
        ("need", Need),
        ("step", Step),
        ("item", Item),
        ("pathway", Pathway),
    ],
)
def test_the_schema_allows_no_text_that_is_longer_than_its_column(kind, model):
    schema = json.loads((STARTER / "schema.json").read_text(encoding="utf-8"))
    definitions = schema["properties"] | schema["$defs"]
    columns = {field.name: field.max_length for field in model._meta.fields}
    texts = {
        name: said.get("maxLength", definitions["slug"]["maxLength"])
        for name, said in definitions[kind]["properties"].items()
        if columns.get(name) and ("maxLength" in said or said.get("$ref") == "#/$defs/slug")
    }
    assert texts
    assert {name for name, longest in texts.items() if longest > columns[name]} == set()


def test_the_schema_and_the_database_know_the_same_regions_and_patterns():
    schema = json.loads((STARTER / "schema.json").read_text(encoding="utf-8"))
    assert schema["$defs"]["region"]["enum"] == list(Region)
    assert schema["properties"]["pathway"]["properties"]["pattern"]["enum"] == Pattern.values


@given(st.from_regex(TEMPO, fullmatch=True))
def test_every_tempo_that_the_library_keeps_can_be_timed_by_the_dose_engine(tempo):
    assert Tempo.parse(tempo).seconds() > 0
