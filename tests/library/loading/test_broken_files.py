"""Library files with mistakes on purpose: every one is told, and nothing is loaded."""

import pytest
from django.core.management import CommandError

from library.models import Exercise, LoadedRow, Pathway
from tests.support.library_files import (
    exercise,
    item,
    lateral,
    pathway,
    rows,
    run,
    sound_folder,
    squat,
    step,
    write,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def folder(tmp_path):
    return sound_folder(tmp_path)


def mistakes(folder) -> list[str]:
    """The lines of the refusal but its last, after making sure that nothing was loaded."""
    before = rows()
    with pytest.raises(CommandError) as refusal:
        run(folder)
    assert rows() == before
    *lines, last = str(refusal.value).splitlines()
    assert last.startswith(f"Nothing was loaded: {len(lines)} mistake")
    return lines


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
        exercise("low-seat", loads=["knee", "tail"], moves=["knee"], other_names=["a", "A"]),
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
    fields = fields.replace("contacts,", "contacts, contact_class, no_landing_because,")
    fields = fields.replace("name,", "name, other_names,")
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
        "squat.toml, exercise low-seat, other_names: “a” is said already",
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


def test_a_jump_in_a_file_says_how_it_lands_or_why_nothing_does(folder):
    landing = {"contacts": 1, "contact_class": "low", "loads": ["knee", "ankle"], "moves": []}
    grounded = {"no_landing_because": "the toes stay on the floor"}
    said = {
        "zero": {},
        "stiff": {"contacts": 1, "contact_class": "medium"},
        "both": landing | grounded,
        "blunt": landing | {"contact_class": "hard"},
        "unclassed": {name: landing[name] for name in ("contacts", "loads", "moves")},
        "classed": grounded | {"contact_class": "low"},
        "numbered": {"no_landing_because": "1234567890"},
        "landing": landing,
        "grounded": grounded,
    }
    write(
        folder,
        "jump.toml",
        pathway=pathway("jump", "jump"),
        exercise=[exercise(slug, **more) for slug, more in said.items()],
        step=[step("landing", "grounded")],
    )
    assert mistakes(folder) == [
        "jump.toml, exercise blunt, contact_class: 'hard' is none of low, medium, high, one_leg,"
        " from_height",
        "jump.toml, exercise both, no_landing_because: contradicts its ground contacts",
        "jump.toml, exercise classed, contact_class: is for what has ground contacts",
        "jump.toml, exercise numbered, no_landing_because: is a reason in words",
        "jump.toml, exercise stiff, loads: must say that the ankle carries load",
        "jump.toml, exercise unclassed, contact_class: must say how hard they are",
        "jump.toml, exercise zero, contact_class: must say how hard they are",
        "jump.toml, exercise zero, contacts: must say how many ground contacts it has, or "
        "no_landing_because",
        "jump.toml, exercise zero, loads: must say that the ankle carries load",
    ]


def test_why_nothing_lands_comes_with_the_file(folder):
    grounded = "the toes stay on the floor"
    rows = [exercise(slug, no_landing_because=grounded) for slug in ("rise", "pop")]
    write(
        folder,
        "jump.toml",
        pathway=pathway("jump", "jump"),
        exercise=rows,
        step=[step("rise", "pop")],
    )
    run(folder)
    current = Exercise.objects.select_related("current").get(slug="pop").current
    assert (current.no_landing_because, current.lands) == (grounded, False)
