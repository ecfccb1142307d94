import pytest
from django.urls import reverse

from library.forms.pathways import StepForm, exercises_for
from library.loaders import pathway_or_404
from library.models import Exercise, Lateral, Pathway
from tests.support.factories import ExerciseFactory, PathwayFactory
from tests.support.together import together

pytestmark = pytest.mark.django_db

WORDS = {"change": "Deeper.", "ready": "Ready when eight are calm."}


@pytest.fixture
def pathway():
    """Low, then Middle, then High; Other is on no pathway."""
    names = ("Low", "Middle", "High")
    chain = [ExerciseFactory(slug=name.lower(), revision__name=name) for name in names]
    ExerciseFactory(slug="other", revision__name="Other")
    return PathwayFactory(slug="way", name="Squatting", chain=chain)


def pk(slug) -> int:
    return Exercise.objects.get(slug=slug).pk


def add_step(client, easier, harder, **typed):
    data = {"easier": pk(easier), "harder": pk(harder)} | WORDS | typed
    return client.post(reverse("library:add_step", args=["way"]), data)


def add_lateral(client, one, other):
    address = reverse("library:add_lateral", args=["way"])
    return client.post(address, {"one": pk(one), "other": pk(other)})


def text_of(answer) -> str:
    return " ".join(answer.content.decode().split())


def test_a_pathway_is_begun_with_a_name_and_grows_by_its_first_step(coach):
    one, other = (ExerciseFactory(revision__pattern="crawl") for _ in range(2))
    begun = {"name": "On all fours", "pattern": "crawl", "about": "From kneeling to crawling."}
    answer = coach.post(reverse("library:new_pathway"), begun, follow=True)
    assert "No steps yet" in text_of(answer)
    made = Pathway.objects.get()
    assert (made.slug, made.pattern) == ("on-all-fours", "crawl")
    address = reverse("library:add_step", args=[made.slug])
    coach.post(address, {"easier": one.pk, "harder": other.pk} | WORDS)
    assert [(step.easier, step.harder) for step in made.steps.all()] == [(one, other)]


def test_a_pathway_keeps_its_address_and_pattern_when_it_is_renamed(coach, pathway):
    coach.post(
        reverse("library:edit_pathway", args=["way"]),
        {"name": "Sitting", "about": "Another text.", "pattern": "push"},
    )
    pathway.refresh_from_db()
    assert (pathway.slug, pathway.name, pathway.pattern) == ("way", "Sitting", "squat")


def test_two_pathways_have_two_names(coach, pathway):
    begun = {"name": "SQUATTING", "pattern": "squat", "about": "x"}
    answer = coach.post(reverse("library:new_pathway"), begun)
    assert "There is a pathway of this name already." in text_of(answer)
    assert Pathway.objects.count() == 1


def test_a_step_is_added_with_what_changes_and_when_a_child_is_ready(coach, pathway):
    assert add_step(coach, "high", "other").status_code == 302
    step = pathway.steps.get(harder__slug="other")
    assert (step.easier.slug, step.change, step.ready) == ("high", *WORDS.values())


@pytest.mark.parametrize(
    ("easier", "harder", "message"),
    [
        ("low", "low", "Choose two different exercises."),
        ("middle", "low", "That would lead in a circle: "),
        ("high", "low", "That would lead in a circle: "),
        ("low", "middle", "This step is there already."),
    ],
)
def test_a_step_that_makes_no_sense_is_refused_plainly(coach, pathway, easier, harder, message):
    answer = add_step(coach, easier, harder)
    assert answer.status_code == 200
    assert message in " ".join(answer.context["step_form"].errors["harder"])
    assert message in text_of(answer)
    assert answer.context["step_form"]["change"].value() == "Deeper."
    assert pathway.steps.count() == 2


def test_the_refusal_names_the_whole_circle(coach, pathway):
    answer = add_step(coach, "high", "low")
    assert (
        "High is easier than Low, Low is easier than Middle, and Middle is easier than High."
        in text_of(answer)
    )


@pytest.mark.parametrize("typed", [{"change": ""}, {"ready": ""}, {"ready": "Ready when …"}])
def test_a_step_says_what_changes_and_when(coach, pathway, typed):
    answer = add_step(coach, "high", "other", **typed)
    assert set(answer.context["step_form"].errors) == set(typed)
    assert pathway.steps.count() == 2


def test_a_pathway_takes_exercises_of_its_own_pattern_that_are_not_retired(coach, pathway):
    ExerciseFactory(slug="push", revision__pattern="push")
    ExerciseFactory(slug="old", revision__status="retired")
    ExerciseFactory(slug="draft", revision__status="draft")
    for slug in ("push", "old"):
        answer = add_step(coach, "high", slug)
        assert "harder" in answer.context["step_form"].errors
    add_step(coach, "high", "draft")
    assert {exercise.slug for exercise in exercises_for(pathway)} == {
        "low",
        "middle",
        "high",
        "other",
        "draft",
    }
    assert pathway.steps.count() == 3


def test_two_exercises_are_said_to_be_as_hard_and_that_is_taken_back(coach, pathway):
    add_lateral(coach, "other", "middle")
    pair = pathway.laterals.get()
    assert {pair.one.slug, pair.other.slug} == {"other", "middle"}
    coach.post(reverse("library:remove_lateral", args=["way", pair.pk]))
    assert not pathway.laterals.exists()


@pytest.mark.parametrize(
    ("one", "other", "message"),
    [
        ("low", "low", "Choose two different exercises."),
        ("low", "high", "That would lead in a circle: "),
        ("high", "low", "That would lead in a circle: "),
    ],
)
def test_a_lateral_that_contradicts_the_steps_is_refused(coach, pathway, one, other, message):
    answer = add_lateral(coach, one, other)
    assert message in " ".join(answer.context["lateral_form"].errors["other"])
    assert not pathway.laterals.exists()


def test_a_lateral_is_said_once_in_whichever_order(coach, pathway):
    add_lateral(coach, "other", "middle")
    for pair in (("other", "middle"), ("middle", "other")):
        answer = add_lateral(coach, *pair)
        assert "These two are there already." in text_of(answer)
    assert pathway.laterals.count() == 1


def test_a_step_that_would_climb_back_over_a_lateral_is_refused(coach, pathway):
    add_lateral(coach, "other", "low")
    answer = add_step(coach, "high", "other")
    assert "Other is as hard as Low" in text_of(answer)
    assert pathway.steps.count() == 2


def test_a_step_is_worded_anew_or_removed(coach, pathway):
    step = pathway.steps.get(easier__slug="low")
    address = reverse("library:step", args=["way", step.pk])
    assert "Deeper." in text_of(coach.get(address))
    coach.post(address, WORDS | {"change": "Lower."})
    step.refresh_from_db()
    assert step.change == "Lower."
    coach.post(reverse("library:remove_step", args=["way", step.pk]))
    assert [str(step) for step in pathway.steps.all()] == ["Middle → High"]


def test_a_lateral_keeps_the_lower_id_first(pathway):
    low, high = Exercise.objects.get(slug="low"), Exercise.objects.get(slug="other")
    assert Lateral.between(pathway, high, low).one == low


# Two people at once: the form has looked, and then somebody else was quicker.


def test_a_form_overtaken_by_the_opposite_step_says_so_and_keeps_what_was_typed(pathway):
    one = pathway_or_404("way")
    data = {"easier": pk("other"), "harder": pk("low")} | WORDS
    form = StepForm(data, one, list(exercises_for(one)))
    assert form.is_valid()
    pathway.steps.create(easier_id=pk("low"), harder_id=pk("other"), **WORDS)
    assert form.add() is False
    assert "Somebody has just changed this pathway" in form.errors["harder"][0]
    assert form["change"].value() == "Deeper."


def test_a_form_overtaken_by_the_same_step_says_so(pathway):
    one = pathway_or_404("way")
    data = {"easier": pk("low"), "harder": pk("other")} | WORDS
    form = StepForm(data, one, list(exercises_for(one)))
    assert form.is_valid()
    pathway.steps.create(easier_id=pk("low"), harder_id=pk("other"), **WORDS)
    assert form.add() is False
    assert form.errors["harder"] == ["This step is there already."]


@pytest.mark.django_db(transaction=True)
def test_of_two_coaches_who_contradict_each_other_at_once_one_is_told(cast, client_for):
    for slug in ("low", "high"):
        ExerciseFactory(slug=slug)
    pathway = PathwayFactory(slug="way")

    def save(person, easier, harder):
        client, data = client_for(person), {"easier": pk(easier), "harder": pk(harder)} | WORDS
        return lambda: client.post(reverse("library:add_step", args=["way"]), data)

    answers = together(
        save(cast.coach, "low", "high"),
        save(cast.other_coach, "high", "low"),
    )
    assert sorted(answer.status_code for answer in answers) == [200, 302]
    assert pathway.steps.count() == 1
    told = next(answer for answer in answers if answer.status_code == 200)
    assert "lead in a circle" in text_of(told)
