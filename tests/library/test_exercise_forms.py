import datetime as dt
import re

import pytest
from django.urls import reverse

from library.models import Exercise, ExerciseRevision
from library.revisions import Content, Overtaken, revise
from tests.support.factories import ExerciseFactory, ItemFactory, PathwayFactory
from tests.support.library_writing import NEW, as_shown, sent, written_before_it_was_asked
from tests.support.together import together

pytestmark = pytest.mark.django_db


@pytest.fixture
def exercise():
    for slug in ("dining-chair", "sofa", "skipping-rope"):
        ItemFactory(slug=slug)
    return ExerciseFactory(
        slug="sit-to-stand",
        revision__name="Sit to stand",
        revision__needs=[("a stable seat", ["dining-chair", "sofa"])],
    )


def edit(client, exercise, **typed):
    address = reverse("library:edit_exercise", args=[exercise.slug])
    return client.post(address, sent(exercise, **typed))


def now(exercise) -> ExerciseRevision:
    return Exercise.objects.select_related("current").get(pk=exercise.pk).current


def text_of(answer) -> str:
    return " ".join(answer.content.decode().split())


def test_a_new_exercise_begins_as_a_draft(coach):
    answer = coach.post(reverse("library:new_exercise"), sent(**NEW), follow=True)
    made = Exercise.objects.select_related("current").get()
    assert answer.redirect_chain == [(reverse("library:exercise", args=["box-squat"]), 302)]
    assert (made.slug, made.status, made.current.number) == ("box-squat", "draft", 1)
    assert made.current.cues == ["Sit like a feather"]
    assert (made.current.loads, made.current.moves) == (["knee"], ["ankle"])
    assert made.current.created_by_name == "Owning Coach"
    assert "Box squat is kept as a draft." in text_of(answer)


def test_saving_writes_a_new_revision_and_leaves_the_old_one(coach, exercise):
    before = now(exercise)
    edit(coach, exercise, stop="Stop at once when a knee hurts.", cue_2="")
    after = now(exercise)
    assert (after.number, after.stop) == (2, "Stop at once when a knee hurts.")
    assert after.cues == ["Sit like a feather"]
    assert after.created_by_name == "Owning Coach"
    assert ExerciseRevision.objects.get(pk=before.pk).cues == before.cues
    assert Content.of(before).differences(Content.of(after)) == ["cues", "stop"]


def test_how_long_setting_up_takes_is_kept_shown_and_told_as_a_change(coach, exercise):
    assert now(exercise).setup_seconds == 0
    edit(coach, exercise, setup_seconds=90)
    assert now(exercise).setup_seconds == 90
    page = text_of(coach.get(reverse("library:exercise", args=[exercise.slug])))
    assert "90 seconds to set up" in page
    assert "Seconds to set up" in page  # as what changed
    edit(coach, exercise, setup_seconds="")
    assert now(exercise).setup_seconds == 0


def test_what_else_it_is_called_is_kept_once_shown_and_told_as_a_change(coach, exercise):
    edit(coach, exercise, other_names=" press-up,Push  up, PRESS-UP,, Liegestütz")
    assert now(exercise).other_names == ["press-up", "Push up", "Liegestütz"]
    page = text_of(coach.get(reverse("library:exercise", args=[exercise.slug])))
    assert "also called press-up, Push up, Liegestütz" in page
    assert "Also called" in page  # as what changed
    form = coach.get(reverse("library:edit_exercise", args=[exercise.slug]))
    assert 'value="press-up, Push up, Liegestütz"' in form.content.decode()
    edit(coach, exercise, other_names="")
    assert now(exercise).other_names == []


def test_saving_without_a_change_writes_nothing(coach, exercise):
    answer = edit(coach, exercise)
    assert answer.status_code == 302
    assert exercise.revisions.count() == 1


def test_needs_and_faults_are_rows_that_can_be_added_changed_and_cleared(coach, exercise):
    edit(
        coach,
        exercise,
        **{
            "needs-0-what": "",
            "needs-0-items": [],
            "needs-1-what": "something to skip with",
            "needs-1-items": ["skipping-rope"],
            "faults-0-say": "Knees over toes",
            "faults-3-see": "Heels come up",
            "faults-3-say": "Heavy heels",
        },
    )
    after = now(exercise)
    need = after.needs.get()
    assert (need.what, need.position) == ("something to skip with", 0)
    assert [item.slug for item in need.items.all()] == ["skipping-rope"]
    assert after.faults == [
        {"see": "Knees fall in", "say": "Knees over toes"},
        {"see": "Heels come up", "say": "Heavy heels"},
    ]


@pytest.mark.parametrize(
    ("typed", "field", "message"),
    [
        ({"name": ""}, "name", "This field is required."),
        ({"name": "n" * 81}, "name", "at most 80 characters"),
        ({"usual": 0}, "low", "no more than the usual dose"),
        ({"low": 0}, "low", "The least is at least 1"),
        ({"low": -1}, "low", "greater than or equal to 0"),
        ({"usual": 99}, "high", "no less than the usual dose"),
        ({"high": 601}, "high", "600 at most"),
        ({"usual": 10**12}, "usual", "less than or equal to 32767"),
        ({"usual": "eight"}, "usual", "Enter a whole number."),
        ({"tempo": "slowly"}, "tempo", "“slowly” is not a tempo. Write four numbers"),
        ({"tempo": "0-0-0-0"}, "tempo", "A tempo of four zeros takes no time"),
        ({"measure": "seconds"}, "tempo", "A tempo times repetitions; leave it empty here."),
        ({"contacts": 11}, "contacts", "less than or equal to 10"),
        ({"contacts": -1}, "contacts", "greater than or equal to 0"),
        ({"contact_class": "low"}, "contact_class", "It has no ground contacts"),
        ({"contacts": 1}, "contact_class", "Say how hard its landings are"),
        ({"minimum_age": 3}, "minimum_age", "An age from 4 to 18."),
        ({"minimum_age": 19}, "minimum_age", "An age from 4 to 18."),
        ({"other_names": "a,b,c,d,e,f,g,h,i"}, "other_names", "8 other names at most."),
        ({"other_names": "x" * 41}, "other_names", "is longer than 40 letters."),
        ({"setup_seconds": 601}, "setup_seconds", "less than or equal to 600"),
        ({"setup_seconds": -1}, "setup_seconds", "greater than or equal to 0"),
        ({"pattern": "dance"}, "pattern", "Select a valid choice."),
        ({"cue_1": ""}, "cue_1", "This field is required."),
        ({"region_knee": "tail"}, "region_knee", "Select a valid choice."),
        ({"region_knee": "", "region_thigh": ""}, None, "which part of the body carries the load"),
    ],
)
def test_what_makes_no_sense_is_told_at_its_field_and_nothing_is_saved(
    coach, exercise, typed, field, message
):
    answer = edit(coach, exercise, **typed)
    assert answer.status_code == 200
    form = answer.context["edit"].form
    assert message in " ".join(form.errors[field or "__all__"])
    assert message in text_of(answer)
    assert exercise.revisions.count() == 1


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"faults-0-say": ""}, "Say what helps, or clear the row."),
        ({"faults-3-say": "Heavy heels"}, "Say what can be seen, or clear the row."),
        ({"needs-0-items": []}, "Tick at least one item that meets it."),
        ({"needs-0-what": ""}, "Say what is needed, or untick the items."),
        ({"needs-1-what": "a mat", "needs-1-items": ["carpet-of-gold"]}, "Select a valid choice."),
    ],
)
def test_half_a_row_is_told_in_the_row(coach, exercise, typed, message):
    answer = edit(coach, exercise, **typed)
    assert answer.status_code == 200
    assert message in text_of(answer)
    assert exercise.revisions.count() == 1


def test_a_refused_form_keeps_everything_that_was_typed(coach, exercise):
    answer = edit(coach, exercise, usual="eight", stop="Typed with care.", **{"faults-3-see": "X"})
    shown = answer.context["edit"]
    assert shown.form["usual"].value() == "eight"
    assert shown.form["stop"].value() == "Typed with care."
    assert shown.faults[3]["see"].value() == "X"


@pytest.mark.parametrize("typed", ["3–1–x–0", " 3 - 1 - X - 0 ", "3-1-x-0"])
def test_a_tempo_may_be_typed_with_any_dash_and_a_small_x(coach, exercise, typed):
    edit(coach, exercise, tempo=typed)
    assert now(exercise).tempo == "3-1-X-0"


def test_a_name_is_used_once_whatever_its_capitals(coach, exercise):
    answer = coach.post(reverse("library:new_exercise"), sent(**NEW | {"name": "SIT to stand"}))
    assert "There is an exercise of this name already." in text_of(answer)
    assert Exercise.objects.count() == 1
    edit(coach, exercise, name="Sit to Stand")
    assert now(exercise).name == "Sit to Stand"


def test_a_new_exercise_whose_address_is_taken_gets_a_number(coach, exercise):
    edit(coach, exercise, name="Stand up")
    for name, slug in [("Sit to stand", "sit-to-stand-2"), ("New", "new-2"), ("日本", "exercise")]:
        coach.post(reverse("library:new_exercise"), sent(**NEW | {"name": name}))
        assert Exercise.objects.select_related("current").get(slug=slug).current.name == name


# What lands

FLOOR = {"needs-0-what": "a floor to land on", "needs-0-items": ["carpet", "grass"]}
GROUNDED = "the toes stay on the floor"
STAR_JUMP = NEW | {
    "name": "Star jump",
    "pattern": "jump",
    "plain": "Your child jumps and opens arms and legs like a star.",
    "region_ankle": "",
}
LANDS = STAR_JUMP | FLOOR | {"contacts": 1, "contact_class": "medium", "region_ankle": "loads"}


@pytest.fixture
def floors(db):
    return [ItemFactory(slug=slug, kind="floor") for slug in ("carpet", "grass")]


def begin(coach, typed, **query):
    return coach.post(reverse("library:new_exercise", query=query), sent(**typed))


def test_a_jump_is_asked_for_contacts_ankle_knee_and_floor(coach, floors):
    edit = begin(coach, STAR_JUMP | {"region_knee": "", "region_thigh": "loads"}).context["edit"]
    assert edit.form.errors == {
        "contacts": ["Jumps, landings and skips have some: say how many, or why nothing lands."],
        "contact_class": ["Say how hard its landings are."],
        "region_ankle": ["A landing loads it."],
        "region_knee": ["A landing loads it."],
    }
    assert edit.needs.non_form_errors() == ["Say on what floor it is done, in a row of its own."]
    assert not Exercise.objects.exists()


def test_a_jump_that_says_all_of_it_is_kept(coach, floors):
    assert begin(coach, LANDS).status_code == 302
    assert Exercise.objects.select_related("current").get().current.lands


@pytest.mark.parametrize("items", [["carpet", "box"], ["box"]])
def test_a_need_that_something_else_meets_too_is_no_floor(coach, floors, items):
    ItemFactory(slug="box")
    answer = begin(coach, LANDS | {"needs-0-items": items})
    assert "Say on what floor it is done, in a row of its own." in text_of(answer)


def test_or_it_says_why_nothing_lands(coach, floors):
    assert begin(coach, STAR_JUMP | {"no_landing_because": GROUNDED}).status_code == 302
    current = Exercise.objects.select_related("current").get().current
    assert (current.no_landing_because, current.lands) == (GROUNDED, False)


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"no_landing_because": "ok"}, "Write the reason in words; they are kept and shown."),
        ({"no_landing_because": GROUNDED}, "It has ground contacts: clear them, or the reason."),
    ],
)
def test_a_reason_is_in_words_and_contradicts_no_contacts(coach, floors, typed, message):
    edit = begin(coach, LANDS | typed).context["edit"]
    assert edit.form.errors == {"no_landing_because": [message]}


def test_an_exercise_that_always_went_without_a_floor_is_not_held_up_by_it(coach, floors):
    hop = ExerciseFactory(slug="hop", revision__pattern="land", revision__contacts=1)
    assert edit(coach, hop, stop="Stop when a heel hurts.").status_code == 302
    assert now(hop).stop == "Stop when a heel hurts."
    assert edit(coach, hop, contacts=0).status_code == 200


def test_what_becomes_a_jump_is_asked_for_all_of_it(coach, exercise, floors):
    shown = edit(coach, exercise, pattern="jump").context["edit"]
    assert {*shown.form.errors} == {"contacts", "contact_class", "region_ankle"}
    assert shown.needs.non_form_errors()


# Begun from a similar exercise


@pytest.fixture
def small_jump(floors):
    return ExerciseFactory(
        slug="small-jump",
        revision__name="Small jump",
        revision__pattern="jump",
        revision__contacts=1,
        revision__caution="Not with a sore heel.",
        revision__needs=[("room overhead", ["high-space"])],
    )


def test_everything_is_taken_over_but_the_six_fields_that_make_it_another_exercise(
    coach, small_jump
):
    answer = coach.get(reverse("library:new_exercise", query={"like": "small-jump"}))
    edit = answer.context["edit"]
    shown = {field.name: field.value() for field in edit.form}
    left = ["name", "plain", "setup", "cue_1", "cue_2", "feel"]
    assert [name for name in left if shown[name]] == []
    assert {name: shown[name] for name in ("pattern", "contacts", "usual", "stop", "caution")} == {
        "pattern": "jump",
        "contacts": 1,
        "usual": 8,
        "stop": "Stop when a knee hurts.",
        "caution": "Not with a sore heel.",
    }
    assert (shown["region_ankle"], shown["base"]) == ("loads", None)
    assert edit.faults[0]["see"].value() == "Knees fall in"
    assert edit.needs[0]["what"].value() == "room overhead"
    text = text_of(answer)
    assert "Taken over from Small jump" in text
    assert "Six fields are left to write" in text


def test_a_floor_that_the_other_jump_does_not_name_is_put_in(coach, small_jump):
    edit = coach.get(reverse("library:new_exercise", query={"like": "small-jump"})).context["edit"]
    assert edit.needs[1]["what"].value() == "a floor to land on"
    assert edit.needs[1]["items"].value() == ["carpet", "grass"]


def test_six_fields_make_a_star_jump_of_a_small_jump(coach, small_jump):
    page = coach.get(reverse("library:new_exercise", query={"like": "small-jump"}))
    typed = {
        "name": "Star jump",
        "plain": "Your child jumps and opens arms and legs like a star.",
        "setup": "Two arm spans of room all round.",
        "cue_1": "Open like a star",
        "cue_2": "Close before you land",
        "feel": "Springy calves.",
    }
    answer = coach.post(page.request["PATH_INFO"], as_shown(page.context["edit"]) | typed)
    assert answer.status_code == 302
    star, small = now(Exercise.objects.get(slug="star-jump")), now(small_jump)
    assert Content.of(star).differences(Content.of(small)) == [
        "name", "plain", "setup", "cues", "feel", "needs"
    ]  # fmt: skip
    assert star.cues == ["Open like a star", "Close before you land"]
    assert (star.number, star.exercise.status, small_jump.revisions.count()) == (1, "draft", 1)


@pytest.mark.parametrize("like", ["", "no-such-exercise", "retired", "x\x00"])
def test_what_cannot_be_begun_from_leaves_an_empty_form(coach, small_jump, like):
    ExerciseFactory(slug="retired", revision__status="retired")
    answer = coach.get(reverse("library:new_exercise", query={"like": like}))
    assert answer.status_code == 200
    assert answer.context["edit"].form["pattern"].value() is None
    assert "Taken over" not in text_of(answer)


def test_the_page_of_an_exercise_leads_to_one_like_it(coach, small_jump):
    page = coach.get(reverse("library:exercise", args=["small-jump"])).content.decode()
    assert reverse("library:new_exercise", query={"like": "small-jump"}) in page


# Written before it was asked for


@pytest.fixture
def old_star_jump(floors):
    """As a coach could write it before: a jump, and the form's default of 0 ground contacts."""
    return written_before_it_was_asked(
        "star-jump", revision__name="Star jump", revision__loads=["thigh"]
    )


def test_the_page_of_a_jump_without_contacts_says_what_is_missing(coach, old_star_jump):
    text = text_of(coach.get(reverse("library:exercise", args=["star-jump"])))
    assert (
        "Its pattern is jump, and it does not say how many ground contacts it has, how hard they"
        " are, that the ankle carries load or that the knee carries load. Until it does, it counts"
        " as landing, with 1 a repetition, high."
    ) in text
    assert "It names no floor" in text


def test_what_it_does_not_say_is_not_asked_of_a_jump_that_says_it(coach, small_jump):
    text = text_of(coach.get(reverse("library:exercise", args=["small-jump"])))
    assert "does not say" not in text
    assert "It names no floor" in text


def test_why_nothing_lands_is_on_the_page_and_in_its_history(coach, old_star_jump):
    said = {"no_landing_because": GROUNDED}
    assert edit(coach, old_star_jump, **said).status_code == 302
    text = text_of(coach.get(reverse("library:exercise", args=["star-jump"])))
    assert f"none, because {GROUNDED}" in text
    assert "no landing, because" in text
    assert "does not say" not in text


@pytest.mark.parametrize("name", ["showing", "picture", "drawn"])
def test_its_figure_waits_until_it_says_how_it_lands(coach, old_star_jump, name):
    address = reverse(f"library:{name}", args=["star-jump"])
    answer = (coach.get if name == "showing" else coach.post)(address, follow=True)
    assert answer.redirect_chain == [(reverse("library:edit_exercise", args=["star-jump"]), 302)]
    assert "Say first how Star jump lands; then choose what shows it." in text_of(answer)
    assert old_star_jump.revisions.count() == 1


def test_it_is_found_among_what_lands(coach, old_star_jump):
    for landings, found in [("with", ["star-jump"]), ("without", [])]:
        page = coach.get(reverse("library:list"), {"landings": landings})
        assert re.findall(r"<h3>\s*<a href=\".*/([a-z-]+)/\"", page.content.decode()) == found


# Two people at once


def test_whoever_saves_second_is_told_and_loses_nothing(cast, client_for, exercise):
    mine = sent(exercise, feel="My words.", **{"needs-0-what": "my own seat"})
    edit(client_for(cast.other_coach), exercise, stop="Their words.", cue_1="Their cue")
    coach = client_for(cast.coach)
    address = reverse("library:edit_exercise", args=[exercise.slug])

    told = coach.post(address, mine)
    assert told.status_code == 409
    text = text_of(told)
    assert "Other Coach saved this exercise while you were writing" in text
    assert "Their words." in text
    assert "Their cue" in text
    shown = told.context["edit"]
    assert shown.form["feel"].value() == "My words."
    assert shown.needs[0]["what"].value() == "my own seat"
    assert now(exercise).feel != "My words."

    again = mine | {"base": shown.form["base"].value(), "stop": "Their words."}
    assert coach.post(address, again).status_code == 302
    after = now(exercise)
    assert (after.number, after.feel, after.stop) == (3, "My words.", "Their words.")
    assert after.cues[0] == "Sit like a feather"
    assert exercise.revisions.get(number=2).cues[0] == "Their cue"


def test_an_edit_that_does_not_say_where_it_began_overwrites_nothing(coach, exercise):
    address = reverse("library:edit_exercise", args=[exercise.slug])
    data = sent(exercise, stop="Other.")
    del data["base"]
    assert coach.post(address, data).status_code == 409
    assert exercise.revisions.count() == 1


@pytest.mark.django_db(transaction=True)
def test_of_two_saves_in_the_same_moment_one_is_overtaken():
    exercise = ExerciseFactory()
    said = Content.of(exercise.current)

    def save(stop) -> str:
        try:
            revise(exercise, Content({**said.fields, "stop": stop}), by=stop, base=1)
        except Overtaken as overtaken:
            return f"overtaken by {overtaken.current.created_by_name}"
        return "saved"

    outcomes = together(lambda: save("One."), lambda: save("Other."))
    saved = exercise.revisions.get(number=2)
    assert sorted(outcomes) == [f"overtaken by {saved.stop}", "saved"]
    assert exercise.revisions.count() == 2


# States


def test_a_draft_is_published_and_a_published_exercise_retired_and_brought_back(coach, exercise):
    Exercise.objects.update(status="draft")
    for name, status in [("publish", "published"), ("retire", "retired"), ("publish", "published")]:
        coach.post(reverse(f"library:{name}", args=[exercise.slug]), {"take_back": "no"})
        assert Exercise.objects.get().status == status


def test_asking_to_retire_says_what_depends_and_changes_nothing(coach, exercise):
    PathwayFactory(name="Squatting", chain=[ExerciseFactory(), exercise])
    text = text_of(coach.get(reverse("library:retire", args=[exercise.slug])))
    assert "Squatting" in text
    assert "Children placed on it keep their place" in text
    assert Exercise.objects.get(pk=exercise.pk).status == "published"


def test_the_page_tells_who_changed_what_when(coach, exercise):
    edit(coach, exercise, stop="Stop at once.", usual=9)
    text = text_of(coach.get(reverse("library:exercise", args=[exercise.slug])))
    today = dt.datetime.now(tz=dt.UTC).date()
    assert f"{today.day} {today:%B %Y}" in text
    assert "Owning Coach" in text
    assert "usual dose, when to stop" in text
    assert "<del>Stop when a knee hurts.</del>" in text
    assert "<ins>Stop at once.</ins>" in text
