"""A coach chooses what shows an exercise, and makes a figure from another one's key poses."""

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError
from django.test import Client
from django.urls import reverse

from library.figures.measures import measure
from library.figures.motion import key_skeletons
from library.figures.movement import FOLDER, drawn, slugs
from library.figures_of_revisions import figure_of, picture_of
from library.models import Exercise, ExerciseRevision
from library.revisions import Content, revise
from tests.support.factories import ExerciseFactory
from tests.support.library_writing import sent
from tests.support.markup import markup
from tests.support.pictures import clip, photo

pytestmark = pytest.mark.django_db

HTMX = {"HX-Request": "true"}
BOTTOM_KNEE = "1-near_leg-knee"


@pytest.fixture
def exercise():
    return ExerciseFactory(slug="free-squat", revision__name="Squat")


def address(name="poses", slug="free-squat", start="split-squat"):
    return reverse(f"library:{name}", args=[slug, start])


def typed(**more):
    return {"base": 1, "describe": "Down and up again.", "pose": 1} | more


def now(exercise) -> ExerciseRevision:
    return Exercise.objects.select_related("current").get(pk=exercise.pk).current


def test_a_figure_of_another_exercise_is_changed_and_becomes_a_new_revision(coach, exercise):
    answer = coach.post(address(), typed(**{BOTTOM_KNEE: 70}), follow=True)
    revision = now(exercise)
    assert answer.redirect_chain == [(reverse("library:exercise", args=["free-squat"]), 302)]
    assert (revision.number, revision.created_by_name) == (2, "Owning Coach")
    own = drawn("free-squat", revision.movement)
    assert own.describe == "Down and up again."
    assert measure(key_skeletons(own)["bottom"], "near.knee") == pytest.approx(70)
    assert b"figures/free-squat/2.svg" in answer.content
    assert exercise.revisions.get(number=1).movement == ""


def test_a_slider_left_where_it_was_changes_nothing(coach, exercise):
    """Though it stands at a whole degree and the figure at 93.7, say."""
    form = coach.get(address()).context["form"]
    every = {
        row.field.html_name: row.value
        for pose in form.poses()
        for part in pose.parts
        for row in (*part.joints, *part.holding)
    }
    assert len(every) > 60
    coach.post(address(), typed(**every))
    own, start = drawn("free-squat", now(exercise).movement), drawn("split-squat")
    for name, skeleton in key_skeletons(start).items():
        for landmark, at in skeleton.points.items():
            assert key_skeletons(own)[name].points[landmark] == pytest.approx(at, abs=0.1)


def test_while_sliders_move_the_figure_is_drawn_anew_and_nothing_is_kept(coach, exercise):
    answer = coach.post(address("look"), typed(**{BOTTOM_KNEE: 60}), headers=HTMX)
    said = markup(answer)
    assert said.count("data:image/svg+xml;base64,") == 2
    assert "The left knee in the pose “bottom” is at 60°" in said
    assert "<html" not in said
    assert 'id="1-near_leg-errors" hx-swap-oob' in said
    assert now(exercise).number == 1


def test_without_htmx_looking_again_shows_the_whole_page_with_what_was_moved(coach, exercise):
    answer = coach.post(address("look"), typed(**{BOTTOM_KNEE: 60}))
    said = markup(answer)
    assert "<html" in said
    assert 'name="1-near_leg-knee" min="-2" max="155" step="1" value="60"' in said
    assert now(exercise).number == 1


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({BOTTOM_KNEE: "170"}, "Knee bends: from -2 to 155°."),
        ({"0-near_arm-elbow": "bent", "0-near_arm-free": "on"}, "Elbow bends: from -3 to 150°."),
        ({"0-hips-1": "nan"}, "How high: from 0 to 130 %."),
        ({"0-hips-1": "500"}, "How high: from 0 to 130 %."),
        ({"0-hips-1": "90"}, "The left foot is"),
        ({"describe": ""}, "This field is required."),
    ],
    ids=["too far", "no number", "not a number", "too high", "out of reach", "no words"],
)
@pytest.mark.parametrize("name", ["poses", "look"])
def test_what_cannot_be_drawn_is_told_at_its_field_and_not_kept(
    coach, exercise, wrong, words, name
):
    answer = coach.post(address(name), typed(**wrong))
    said = markup(answer)
    assert words in said
    assert "It cannot be drawn like this." in said
    assert "data:image/svg" not in said
    assert now(exercise).number == 1


def test_out_of_reach_is_told_at_the_limb(coach, exercise):
    said = markup(coach.post(address("look"), typed(**{"0-hips-1": "90"}), headers=HTMX))
    told = said.partition('id="0-near_leg-errors" hx-swap-oob="true">')[2].partition("<")[0]
    assert told.strip().startswith("The left foot is")
    assert "Move the contact, the hips or the lean" in told


def test_a_second_coach_does_not_write_over_the_first(coach, exercise):
    said = Content.of(exercise.current)
    revise(exercise, Content({**said.fields, "stop": "Never."}), by="Ines", base=1)
    answer = coach.post(address(), typed(**{BOTTOM_KNEE: 60}))
    assert answer.status_code == 409
    assert b"Ines saved this exercise meanwhile" in answer.content
    assert b'name="base" value="2"' in answer.content
    assert 'name="1-near_leg-knee" min="-2" max="155" step="1" value="60"' in markup(answer)
    assert coach.post(address(), typed(base=2)).status_code == 302
    assert (now(exercise).number, now(exercise).stop) == (3, "Never.")


def test_an_own_figure_is_changed_again_from_where_it_stands(coach, exercise):
    coach.post(address(), typed(**{BOTTOM_KNEE: 60}))
    page = coach.get(reverse("library:showing", args=["free-squat"]))
    assert address(start="2").encode() in page.content
    coach.post(address(start="2"), typed(base=2, **{"1-near_leg-hip": 50}))
    own = drawn("free-squat", now(exercise).movement)
    assert measure(key_skeletons(own)["bottom"], "near.knee") == pytest.approx(60)


def test_a_coach_goes_back_to_the_figure_that_was_drawn(coach, exercise):
    coach.post(address(), typed())
    assert now(exercise).movement
    coach.post(reverse("library:drawn", args=["free-squat"]))
    assert (now(exercise).number, now(exercise).movement) == (3, "")
    page = markup(coach.get(reverse("library:exercise", args=["free-squat"])))
    assert "a coach&#x27;s figure: Down and up again." in page


def test_new_words_keep_the_figure(coach, exercise):
    coach.post(address(), typed())
    own = now(exercise).movement
    exercise = Exercise.objects.select_related("current").get(pk=exercise.pk)
    coach.post(reverse("library:edit_exercise", args=["free-squat"]), sent(exercise, stop="Now."))
    assert (now(exercise).stop, now(exercise).movement) == ("Now.", own)


@pytest.mark.parametrize("start", ["no-such-figure", "1", "9"])
def test_only_a_figure_that_there_is_can_be_begun_with(coach, exercise, start):
    assert coach.get(address(start=start)).status_code == 404


def test_an_exercise_without_a_figure_begins_with_another_ones(coach):
    ExerciseFactory(slug="towel-waltz")
    page = markup(coach.get(reverse("library:showing", args=["towel-waltz"])))
    assert "Nothing: it is told in words alone." in page
    assert page.count("&amp;still") == len(slugs())
    assert coach.post(address(slug="towel-waltz"), typed()).status_code == 302
    assert now(Exercise.objects.get(slug="towel-waltz")).movement


# Order, lengths and things


def test_a_longer_landing_another_order_and_another_thing_are_kept_in_a_new_revision(
    coach, exercise
):
    changes = {"phase-3-seconds": "0.5", "phase-5-to-1": "tall", "prop-0": "step"}
    said = typed(pose=0, **changes)
    assert coach.post(address(start="box-jump"), said).status_code == 302
    own = drawn("free-squat", now(exercise).movement)
    assert own.phases[3].seconds == 0.5
    assert own.phases[5].through == ("tall", "tall", "down", "clear", "home", "start")
    assert [prop.kind for prop in own.props] == ["step"]


def test_a_carried_thing_is_taken_out_and_the_usual_tempo_changed(coach, exercise):
    said = typed(**{"prop-0": "none", "tempo": "2–0–2–0"})
    assert coach.post(address(start="goblet-squat"), said).status_code == 302
    own = drawn("free-squat", now(exercise).movement)
    assert (own.props, own.tempo) == ((), "2-0-2-0")


def test_the_order_is_looked_at_before_it_is_kept(coach, exercise):
    said = typed(pose=0, **{"phase-0-seconds": "0.1"})
    answer = coach.post(address("look", start="deep-squat-hold"), said, headers=HTMX)
    assert "Worth another look." in markup(answer)
    assert markup(answer).count("data:image/svg+xml;base64,") == 2
    assert now(exercise).number == 1


def test_a_pose_that_no_phase_passes_any_more_is_still_looked_at(coach, exercise):
    said = typed(pose=1, **{"phase-0-to-0": "start"})
    answer = coach.post(address("look", start="deep-squat-hold"), said, headers=HTMX)
    assert "The figure in the key pose hold" in markup(answer)


@pytest.mark.parametrize(
    ("start", "wrong", "words"),
    [
        ("box-jump", {"phase-3-seconds": "40"}, "4. Landing: Lasts: from 0.05 to 8 s."),
        ("box-jump", {"phase-0-to-0": "asleep"}, "1. Lowering: Select a valid choice."),
        ("box-jump", {"prop-0": "none"}, "Select a valid choice. none is not one"),
        ("box-jump", {"tempo": "quickly"}, "Write four numbers of seconds"),
        ("free-squat", {"tempo": "0-0-0-0"}, "takes no time"),
    ],
    ids=["too long", "no such pose", "needed", "no tempo", "no time"],
)
@pytest.mark.parametrize("name", ["poses", "look"])
def test_an_order_that_cannot_be_drawn_is_told_and_not_kept(
    coach, exercise, start, wrong, words, name
):
    said = markup(coach.post(address(name, start=start), typed(pose=0, **wrong)))
    assert words in said.partition("It cannot be drawn like this.")[2].partition("</p>")[0]
    assert now(exercise).number == 1


# A photo or clip


@pytest.fixture
def own_folder(settings, tmp_path):
    """A folder of this test's own for what is kept."""
    options = settings.STORAGES["uploads"]["OPTIONS"] | {"location": tmp_path / "kept"}
    own = {**settings.STORAGES["uploads"], "OPTIONS": options}
    settings.STORAGES = {**settings.STORAGES, "uploads": own}
    return tmp_path / "kept"


@pytest.fixture
def choose(coach, exercise, own_folder):
    """A coach's answer on choosing a file to show the exercise."""

    def chosen(file=None, name="a.jpg", kind="image/jpeg", **more):
        upload = SimpleUploadedFile(name, photo() if file is None else file, kind)
        said = {"base": 1, "words": "Both feet flat.", "upload": upload} | more
        return coach.post(reverse("library:picture", args=["free-squat"]), said)

    return chosen


def files_in(folder):
    return list(folder.iterdir()) if folder.exists() else []


def test_a_photo_shows_the_exercise_with_its_words(coach, exercise, choose, cast, client_for):
    assert choose().status_code == 302
    page = markup(coach.get(reverse("library:exercise", args=["free-squat"])))
    address = reverse("library:picture_file", args=["free-squat", 2])
    assert f'src="{address}" alt="Both feet flat."' in page
    assert figure_of("free-squat", now(exercise)) is None
    answer = client_for(cast.guardian).get(address)
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert b"".join(answer).startswith(b"\xff\xd8")
    assert Client().get(address).status_code == 302


def test_a_clip_has_controls_and_words_and_never_starts_by_itself(coach, exercise, choose):
    assert choose(clip(), "a.mp4", "video/mp4").status_code == 302
    page = markup(coach.get(reverse("library:exercise", args=["free-squat"])))
    (video,) = re.findall("<video[^>]*>", page)
    assert " controls" in video
    assert 'aria-label="Both feet flat."' in video
    assert "autoplay" not in video
    assert '<span class="figure figure-small figure-clip">clip</span>' in (
        markup(coach.get(reverse("library:list")))
    )


def test_what_families_were_sent_keeps_its_figure_when_a_photo_comes(exercise, choose):
    choose()
    first = exercise.revisions.get(number=1)
    assert picture_of("free-squat", first) is None
    assert figure_of("free-squat", first).address == "/library/figures/free-squat.svg"


@pytest.mark.parametrize(
    "wrong",
    [{"file": b"no picture"}, {"file": b""}, {"words": ""}, {"base": ""}],
    ids=["no picture", "empty", "no words", "no base"],
)
def test_a_bad_file_or_no_words_are_told_and_nothing_is_kept(exercise, choose, own_folder, wrong):
    answer = choose(**wrong)
    assert answer.status_code == 200
    assert b"The file has to be chosen again." in answer.content
    assert now(exercise).number == 1
    assert files_in(own_folder) == []


def test_a_photo_that_comes_second_is_not_kept(exercise, choose, own_folder):
    said = Content.of(exercise.current)
    revise(exercise, Content({**said.fields, "stop": "Never."}), by="Ines", base=1)
    assert b"Squat is at revision 2 by now." in choose().content
    assert files_in(own_folder) == []


def test_a_figure_takes_the_place_of_a_photo_and_the_revision_before_keeps_it(
    coach, exercise, choose, own_folder
):
    choose()
    coach.post(address(), typed(base=2))
    assert (now(exercise).number, now(exercise).picture) == (3, "")
    assert exercise.revisions.get(number=2).picture == files_in(own_folder)[0].name


@pytest.mark.parametrize(
    ("said", "constraint"),
    [
        ({"picture": "../secret.jpg", "picture_words": "x"}, "own_picture_is_an_upload"),
        ({"picture": f"{'0' * 32}.jpg"}, "own_picture_is_said_in_words"),
        ({"picture_words": "x"}, "own_picture_is_said_in_words"),
        (
            {"picture": f"{'0' * 32}.jpg", "picture_words": "x", "movement": "free-squat"},
            "own_movement_or_own_picture",
        ),
    ],
)
def test_the_database_refuses_a_picture_without_words_and_two_things_at_once(said, constraint):
    if "movement" in said:
        said["movement"] = (FOLDER / "free-squat.toml").read_text()
    with pytest.raises(IntegrityError, match=constraint):
        ExerciseFactory(**{f"revision__{name}": value for name, value in said.items()})


# Poses and parts added and taken out


def asked(coach, do, start="free-squat", page=None, **more):
    """A button pressed on the page `page`, on a fresh one without."""
    draft = page.context["form"]["draft"].value() if page else ""
    said = typed(pose=0, draft=draft, do=do) | more
    return coach.post(address("arrange", start=start), said)


def kept(coach, exercise, page, start="free-squat", **more):
    draft = page.context["form"]["draft"].value()
    assert coach.post(address(start=start), typed(draft=draft, **more)).status_code == 302
    return drawn("free-squat", now(exercise).movement)


def test_a_copied_pose_is_shown_to_be_changed_and_saved_as_a_revision(coach, exercise):
    page = asked(coach, "copy-pose-1")
    said = markup(page)
    assert "“bottom 2” is a copy of “bottom”, passed right after it." in said
    assert re.search(r'value="2" id="pose-2" checked autofocus', said)
    assert now(exercise).number == 1
    own = kept(coach, exercise, page, **{"2-near_arm-elbow": 70})
    assert [*own.poses] == ["start", "bottom", "bottom 2"]
    assert own.phases[2].through == ("bottom 2", "start")
    assert own.poses["bottom 2"].channels["near.arm.elbow"] == 70
    assert own.poses["bottom"].channels["near.arm.elbow"] != 70


def test_what_was_moved_before_is_in_the_copy_and_in_its_own(coach, exercise):
    page = asked(coach, "copy-pose-1", **{"1-near_arm-elbow": 33, "base": 1, "describe": "Slow."})
    own = kept(coach, exercise, page, describe="Slow.")
    assert own.poses["bottom"].channels["near.arm.elbow"] == 33
    assert own.poses["bottom 2"].channels["near.arm.elbow"] == 33
    assert page.context["form"]["describe"].value() == "Slow."


def test_the_figure_with_its_copy_is_looked_at_while_sliders_move(coach, exercise):
    page = asked(coach, "copy-pose-1")
    draft = page.context["form"]["draft"].value()
    moved = typed(draft=draft, **{"2-lean": 0}) | {"pose": 2}
    said = markup(coach.post(address("look", start="free-squat"), moved, headers=HTMX))
    assert "The figure in the key pose bottom 2" in said
    assert "Worth another look." in said


def test_parts_are_copied_and_taken_out(coach, exercise):
    page = asked(coach, "copy-phase-1", start="deep-squat-hold")
    assert "Part 3 is a copy of part 2." in markup(page)
    assert 'aria-labelledby="phase-2-title" tabindex="-1" autofocus' in markup(page)
    page = asked(coach, "remove-phase-2", start="deep-squat-hold", page=page)
    assert "Part 3 is taken out." in markup(page)
    page = asked(coach, "copy-phase-1", start="deep-squat-hold", page=page)
    own = kept(coach, exercise, page, start="deep-squat-hold", **{"phase-2-seconds": 7})
    assert [(phase.name, phase.seconds) for phase in own.phases[1:3]] == [("hold", 4), ("hold", 7)]


def test_a_copied_pose_is_taken_out_again(coach, exercise):
    page = asked(coach, "remove-pose-2", page=asked(coach, "copy-pose-1"))
    assert "“bottom 2” is taken out." in markup(page)
    assert [*kept(coach, exercise, page).poses] == ["start", "bottom"]


@pytest.mark.parametrize(
    ("do", "words"),
    [
        ("remove-pose-0", "The figure begins and ends in this pose, so it stays."),
        ("remove-pose-1", "A figure needs two key poses, so this one stays."),
        ("remove-phase-2", "It brings the figure back to “start”, so it stays."),
        ("copy-pose-9", "Nothing was added or taken out."),
        ("copy-phase-9", "Nothing was added or taken out."),
        ("copy-pose-1-1", "Nothing was added or taken out."),
        ("", "Nothing was added or taken out."),
    ],
)
def test_what_may_not_be_added_or_taken_out_says_why(coach, exercise, do, words):
    said = markup(asked(coach, do))
    assert f'role="alert">{words}' in said
    assert said.count("data:image/svg+xml;base64,") == 2
    assert now(exercise).number == 1


def test_nothing_is_added_to_what_cannot_be_drawn(coach, exercise):
    page = asked(coach, "copy-pose-1", **{"0-hips-1": "90"})
    assert "The left foot is" in markup(page)
    assert page.context["form"]["draft"].value() == ""


@pytest.mark.parametrize("name", ["poses", "look", "arrange"])
def test_a_draft_that_we_did_not_write_is_refused(coach, exercise, name):
    said = typed(draft="title = 'Mine'", do="copy-pose-1")
    assert coach.post(address(name), said).status_code == 400
    assert now(exercise).number == 1


def test_advice_still_knows_the_figure_that_it_began_with(coach, exercise):
    """A towel that slides was drawn so, and is no matter, whatever has been added since."""
    page = asked(coach, "copy-pose-1", start="towel-curl")
    draft = page.context["form"]["draft"].value()
    look = coach.post(address("look", start="towel-curl"), typed(draft=draft), headers=HTMX)
    assert "slides." not in markup(look)


def test_what_was_added_outlasts_another_coachs_save(coach, exercise):
    page = asked(coach, "copy-pose-1")
    said = Content.of(exercise.current)
    revise(exercise, Content({**said.fields, "stop": "Never."}), by="Ines", base=1)
    draft = page.context["form"]["draft"].value()
    answer = coach.post(address(start="free-squat"), typed(draft=draft))
    assert answer.status_code == 409
    own = kept(coach, exercise, answer, base=2)
    assert ([*own.poses][-1], now(exercise).stop) == ("bottom 2", "Never.")
