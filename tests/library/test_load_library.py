import io
import itertools
import json
import time
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from hypothesis import given
from hypothesis import strategies as st

from library.body import Region
from library.loading.storing import load
from library.models import (
    Edition,
    Exercise,
    ExerciseRevision,
    Item,
    Lateral,
    LoadedRow,
    Need,
    Pathway,
    Pattern,
    Step,
)
from library.tempo import TEMPO
from program.engine.dose import Tempo
from tests.library.files import (
    exercise,
    item,
    lateral,
    pathway,
    sound_folder,
    step,
    write,
)

pytestmark = pytest.mark.django_db

STARTER = Path(__file__).resolve().parents[2] / "library" / "starter"
EVERYTHING = (Item, Exercise, ExerciseRevision, Need, Pathway, Step, Lateral, LoadedRow, Edition)


@pytest.fixture
def folder(tmp_path):
    return sound_folder(tmp_path)


def run(folder) -> list[str]:
    out = io.StringIO()
    call_command("load_library", folder, stdout=out)
    return out.getvalue().splitlines()


def mistakes(folder) -> list[str]:
    """The lines of the refusal but its last, after making sure that nothing was loaded."""
    before = rows()
    with pytest.raises(CommandError) as refusal:
        run(folder)
    assert rows() == before
    *lines, last = str(refusal.value).splitlines()
    assert last.startswith(f"Nothing was loaded: {len(lines)} mistake")
    return lines


def rows() -> list:
    return [list(model.objects.order_by("pk").values()) for model in EVERYTHING]


def squat(folder, *exercises, steps=None, laterals=()):
    write(
        folder,
        "squat.toml",
        pathway=pathway("squat"),
        exercise=list(exercises),
        step=steps or [step("high-seat", "low-seat")],
        lateral=list(laterals),
    )


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
        {"contacts": 1.5},
        {"tempo": "2-0-X-0"},
        {"min_age": 7},
        {"watch": True},
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


def test_a_retired_exercise_is_not_brought_back(folder):
    run(folder)
    Exercise.objects.filter(slug="low-seat").update(status="retired")
    squat(folder, exercise("high-seat"), exercise("low-seat", feel="Both thighs, warm and strong."))
    run(folder)
    assert Exercise.objects.get(slug="low-seat").status == "retired"


def test_every_mistake_in_every_file_is_reported_and_nothing_is_loaded(folder):
    write(
        folder,
        "items.toml",
        item=[
            item("dining-chair"),
            item("sofa"),
            item("Arm Chair"),
            item("sofa", name="Settee", kind="cushion"),
        ],
    )
    squat(
        folder,
        exercise("high-seat", usual=20, tempo="3-1-1", cues=["Nose over toes"]),
        exercise("low-seat", loads=["knee", "tail"], moves=["knee"]),
        {key: said for key, said in exercise("mid-seat").items() if key not in {"feel", "stop"}},
        steps=[step("high-seat", "low-seat"), step("low-seat", "lowest-seat")],
        laterals=[lateral("high-seat", "no-seat")],
    )
    write(
        folder,
        "push.toml",
        pathway=pathway("push", "shove"),
        exercise=[
            exercise("wall-push", measure="seconds", needs=[]),
            exercise("floor-push", moves=["knee", "ankle"], watch="yes", colour="red", needs=[]),
        ],
        step=[step("wall-push", "floor-push"), step("wall-push", "floor-push")],
        lateral=[lateral("floor-push", "floor-push")],
    )
    (folder / "pull.toml").write_text("[pathway\nslug =", encoding="utf-8")
    (folder / "land.toml").write_bytes(b'[pathway]\nname = "Landen f\xfcr alle"')
    patterns = (
        "squat, single_leg, hinge, hamstring_slide, push, pull, front_brace, side_brace, crawl, "
        "jump, land, skip, calf_ankle, mobility"
    )
    fields = ", ".join(exercise("x"))
    known_regions = (
        "head_neck, shoulder, elbow, wrist_hand, upper_back, lower_back, hip_groin, thigh, knee, "
        "lower_leg, ankle, foot"
    )
    found = mistakes(folder)
    assert [line for line in found if not line.startswith(("land.toml", "pull.toml"))] == [
        "items.toml, item Arm Chair, slug: "
        "must be lower-case letters and digits, single hyphens between",
        "items.toml, item sofa, kind: 'cushion' is none of thing, floor, space",
        "items.toml, item sofa, slug: “sofa” is also item sofa in items.toml",
        f"push.toml, exercise floor-push, colour: is not known here; known are {fields}",
        "push.toml, exercise floor-push, moves: knee carries load already",
        "push.toml, exercise floor-push, watch: must be true or false",
        "push.toml, exercise wall-push, tempo: is for exercises measured in repetitions only",
        "push.toml, lateral 1, between: names something twice",
        f"push.toml, pathway, pattern: 'shove' is none of {patterns}",
        "push.toml, step 2: is step 1 again",
        "squat.toml, exercise high-seat, cues: needs 2 entries or more, has 1",
        "squat.toml, exercise high-seat, tempo: must be four numbers of seconds, "
        "lowering-pause-lifting-pause, such as 3-1-1-0; lowering or lifting may be X for fast",
        "squat.toml, exercise high-seat, usual: 20 is more than high, 12",
        f"squat.toml, exercise low-seat, loads 2: 'tail' is none of {known_regions}",
        "squat.toml, exercise mid-seat, feel: is missing",
        "squat.toml, exercise mid-seat, stop: is missing",
    ]
    assert [line.split(":")[:2] for line in found if line.startswith(("land", "pull"))] == [
        ["land.toml", " is not TOML in UTF-8"],
        ["pull.toml", " is not TOML in UTF-8"],
    ]


def test_unknown_items_and_exercises_are_reported_where_every_file_can_be_read(folder):
    squat(
        folder,
        exercise("high-seat", needs=[{"what": "a seat", "any": ["sofa", "stool", "throne"]}]),
        exercise("low-seat"),
        steps=[step("high-seat", "low-seat"), step("low-seat", "lowest-seat")],
        laterals=[lateral("high-seat", "no-seat")],
    )
    assert mistakes(folder) == [
        "squat.toml, exercise high-seat, needs 1 any: there is no item stool",
        "squat.toml, exercise high-seat, needs 1 any: there is no item throne",
        "squat.toml, lateral 1, between: there is no exercise no-seat",
        "squat.toml, step 2, harder: there is no exercise lowest-seat",
    ]


def test_an_exercise_in_two_files_is_reported_by_slug_and_by_name(folder):
    squat(folder, exercise("high-seat"), exercise("low-seat"), exercise("wall-push", name="Sit"))
    write(
        folder,
        "sit.toml",
        pathway=pathway("squat", name="Sit"),
        exercise=[exercise("sit-down", name="SIT"), exercise("sit-up")],
        step=[step("sit-down", "sit-up")],
    )
    assert mistakes(folder) == [
        "squat.toml, exercise wall-push, name: “Sit” is also exercise sit-down in sit.toml",
        "squat.toml, exercise wall-push, slug: “wall-push” is also exercise wall-push in push.toml",
        "squat.toml, pathway, slug: “squat” is also pathway in sit.toml",
    ]


def test_every_step_and_lateral_that_closes_a_circle_is_reported(folder):
    squat(
        folder,
        *(exercise(f"{letter}-seat") for letter in "abcdef"),
        steps=[
            step("a-seat", "a-seat"),
            step("a-seat", "b-seat"),
            step("b-seat", "c-seat"),
            step("c-seat", "a-seat"),
            step("d-seat", "e-seat"),
            step("e-seat", "d-seat"),
        ],
        laterals=[lateral("a-seat", "c-seat"), lateral("e-seat", "f-seat")],
    )
    assert mistakes(folder) == [
        "squat.toml, lateral 1, between: leads in a circle: c-seat is easier than a-seat, "
        "and a-seat is as hard as c-seat",
        "squat.toml, step 1, harder: leads in a circle: a-seat is easier than a-seat",
        "squat.toml, step 4, harder: leads in a circle: a-seat is easier than b-seat, "
        "b-seat is easier than c-seat, and c-seat is easier than a-seat",
        "squat.toml, step 6, harder: leads in a circle: d-seat is easier than e-seat, "
        "and e-seat is easier than d-seat",
    ]


def test_a_step_that_contradicts_one_made_here_is_reported(folder):
    run(folder)
    high, low = (Exercise.objects.get(slug=slug) for slug in ("high-seat", "low-seat"))
    pathway_here = Pathway.objects.get(slug="squat")
    pathway_here.steps.all().delete()
    LoadedRow.objects.filter(key__startswith="step/squat").delete()
    pathway_here.steps.create(easier=low, harder=high, change="x", ready="y")
    assert mistakes(folder) == [
        "squat.toml, step 1, harder: leads in a circle: high-seat is easier than low-seat, "
        "and low-seat is easier than high-seat"
    ]


def test_four_zeros_are_no_tempo(folder):
    squat(folder, exercise("high-seat", tempo="0-0-0-0"), exercise("low-seat"))
    (line,) = mistakes(folder)
    assert line == "squat.toml, exercise high-seat, tempo: four zeros take no time"


def test_a_folder_that_is_missing_or_empty_is_refused(tmp_path):
    for folder in (tmp_path, tmp_path / "nowhere"):
        assert mistakes(folder) == [f"{folder}: holds no .toml file"]


def test_without_a_folder_the_starter_library_is_loaded():
    out = io.StringIO()
    call_command("load_library", stdout=out)
    files = [path for path in STARTER.glob("*.toml") if path.name != "items.toml"]
    assert Pathway.objects.count() == len(files)
    assert Exercise.objects.published().with_current().count() >= 80
    call_command("load_library", stdout=out)
    assert out.getvalue().splitlines()[-1].startswith("Nothing to change")


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
