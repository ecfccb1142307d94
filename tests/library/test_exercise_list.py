import itertools
import re
from pathlib import Path

import pytest
from django.urls import reverse

from library.exercise_list import PER_PAGE
from library.loading.writing import load
from library.models import Exercise, ExerciseRevision, Lateral, Pathway
from library.revisions import Content, Written, write_revisions
from tests.support.factories import ExerciseFactory, ItemFactory, PathwayFactory, RevisionFactory
from tests.support.markup import markup

STARTER = Path(__file__).resolve().parents[2] / "library" / "starter"

pytestmark = pytest.mark.django_db


def listed(client, **asked) -> list[str]:
    answer = client.get(reverse("library:list"), asked)
    assert answer.status_code == 200
    return [str(row.exercise) for group in answer.context["found"].groups for row in group.rows]


def text_of(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", markup(answer)).split())


# Doors


def addresses(slug, pathway, step, lateral):
    exercise, way = [slug], [pathway]
    return [
        ("get", reverse("library:list")),
        ("get", reverse("library:new_exercise")),
        ("get", reverse("library:exercise", args=exercise)),
        ("get", reverse("library:edit_exercise", args=exercise)),
        ("get", reverse("library:retire", args=exercise)),
        ("post", reverse("library:publish", args=exercise)),
        ("get", reverse("library:new_pathway")),
        ("get", reverse("library:pathway", args=way)),
        ("get", reverse("library:edit_pathway", args=way)),
        ("get", reverse("library:step", args=[*way, step])),
        ("post", reverse("library:add_step", args=way)),
        ("post", reverse("library:add_lateral", args=way)),
        ("post", reverse("library:remove_step", args=[*way, step])),
        ("post", reverse("library:remove_lateral", args=[*way, lateral])),
    ]


@pytest.fixture
def small_library():
    easy, hard, beside = (ExerciseFactory(slug=slug) for slug in ("easy", "hard", "beside"))
    pathway = PathwayFactory(slug="way", chain=[easy, hard])
    lateral = Lateral.between(pathway, easy, beside)
    lateral.save()
    return "easy", "way", pathway.steps.get().pk, lateral.pk


def test_families_find_no_library(cast, client_for, small_library):
    for person in (cast.guardian, cast.athlete, cast.nobody):
        client = client_for(person)
        for method, address in addresses(*small_library):
            assert getattr(client, method)(address).status_code == 404, address


def test_whoever_is_signed_out_is_asked_to_sign_in(client, small_library):
    for method, address in addresses(*small_library):
        answer = getattr(client, method)(address)
        assert answer.status_code == 302
        assert answer.url.startswith(reverse("account_login"))


def test_every_coach_may_enter_and_what_is_missing_is_missing(cast, client_for, small_library):
    for person in (cast.coach, cast.other_coach, cast.head_coach):
        client = client_for(person)
        for method, address in addresses(*small_library)[:10]:
            assert getattr(client, method)(address).status_code in {200, 302}, address
        for method, address in addresses("nowhere", "no-way", 10**30, 10**30)[2:]:
            if "new" not in address:
                assert getattr(client, method)(address).status_code == 404, address


def test_a_step_is_not_found_through_another_pathway(coach, small_library):
    _, _, step, lateral = small_library
    PathwayFactory(slug="other-way")
    for name, pk in [("step", step), ("remove_step", step), ("remove_lateral", lateral)]:
        address = reverse(f"library:{name}", args=["other-way", pk])
        method = coach.get if name == "step" else coach.post
        assert method(address).status_code == 404


def test_what_changes_something_is_not_done_by_a_link(coach, small_library):
    for method, address in addresses(*small_library):
        if method == "post":
            assert coach.get(address).status_code == 405


# The list


def test_an_empty_library_says_what_it_is_and_how_to_begin(coach):
    text = text_of(coach.get(reverse("library:list")))
    assert "No exercises yet" in text
    assert "Write the first exercise" in text


def test_exercises_stand_by_pathway_from_easy_to_hard_and_those_on_none_last(coach):
    names = ("Zero", "Alpha", "Middle", "Alone", "Push")
    zero, alpha, middle, _, push = (ExerciseFactory(revision__name=name) for name in names)
    PathwayFactory(name="Pushing", pattern="push", chain=[push, ExerciseFactory()])
    PathwayFactory(name="Squatting", pattern="squat", chain=[zero, middle, alpha])
    assert listed(coach)[:4] == ["Zero", "Middle", "Alpha", "Push"]
    assert listed(coach)[-1] == "Alone"
    assert "On no pathway yet" in text_of(coach.get(reverse("library:list")))


def test_a_search_shows_the_best_match_first_whatever_its_pathway(coach):
    load(STARTER)
    assert listed(coach, q="sid plank")[0] == "Side plank"
    assert "Nothing like that here" in text_of(coach.get(reverse("library:list"), {"q": "zzzzz"}))


def test_filters_narrow_the_list(coach):
    ItemFactory(slug="sofa")
    ItemFactory(slug="mat-space", kind="space")
    ExerciseFactory(revision__name="Free")
    ExerciseFactory(revision__name="Lying", revision__needs=[("room", ["mat-space"])])
    ExerciseFactory(
        revision__name="Seated",
        revision__needs=[("a seat", ["sofa"]), ("room", ["mat-space"])],
        revision__sides="each",
    )
    ExerciseFactory(revision__name="Hopping", revision__pattern="land", revision__contacts=1)
    ExerciseFactory(revision__name="Old", revision__status="retired")
    ExerciseFactory(revision__name="Draft", revision__status="draft")
    everything = ["Draft", "Free", "Hopping", "Lying", "Seated"]
    assert listed(coach) == everything
    assert listed(coach, kit="nothing") == ["Draft", "Free", "Hopping"]
    assert listed(coach, kit="room") == ["Draft", "Free", "Hopping", "Lying"]
    assert listed(coach, kit="sofa") == ["Seated"]
    assert listed(coach, kit="mat-space") == ["Lying", "Seated"]
    assert listed(coach, pattern="land") == ["Hopping"]
    assert listed(coach, sides="each") == ["Seated"]
    assert listed(coach, landings="with") == ["Hopping"]
    assert listed(coach, landings="without", sides="both") == ["Draft", "Free", "Lying"]
    assert listed(coach, status="retired") == ["Old"]
    assert listed(coach, status="published", kit="nothing", q="fre") == ["Free"]


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        ({"pattern": "dance"}, "Select a valid choice."),
        ({"kit": "throne"}, "Select a valid choice."),
        ({"q": "q" * 81}, "at most 80 characters"),
        ({"q": "a\x00b"}, "Null characters are not allowed."),
    ],
)
def test_a_filter_that_makes_no_sense_says_so_and_hides_nothing(coach, asked, message):
    ExerciseFactory(revision__name="Free")
    answer = coach.get(reverse("library:list"), asked)
    assert message in text_of(answer)
    assert listed(coach, **asked) == ["Free"]


def test_a_long_list_comes_in_pages_that_lose_and_repeat_nothing(coach):
    for _ in range(PER_PAGE + 1):
        ExerciseFactory()
    first, second = listed(coach), listed(coach, page=2)
    assert (len(first), len(second)) == (PER_PAGE, 1)
    assert len({*first, *second}) == PER_PAGE + 1
    assert listed(coach, page="many") == first
    assert listed(coach, page=99) == second
    address = reverse("library:list")
    page = markup(coach.get(address, {"kit": "nothing"}))
    assert f'href="{address}?kit=nothing&amp;page=2"' in page


def test_while_typing_only_the_list_is_drawn_anew(coach):
    ExerciseFactory(revision__name="Squat")
    answer = coach.get(reverse("library:list"), {"q": "skwat"}, headers={"HX-Request": "true"})
    assert markup(answer).strip().startswith('<div class="found-page" id="found">')
    assert "Squat" in text_of(answer)
    assert "HX-Request" in answer.headers["Vary"]
    back = {"HX-Request": "true", "HX-History-Restore-Request": "true"}
    assert "<html" in markup(coach.get(reverse("library:list"), headers=back))


# An exercise's page


def test_an_exercise_shows_the_way_down_and_up_with_what_changes_and_when(coach):
    names = ("Lowest", "Low", "Here", "High", "Highest", "Beside")
    lowest, low, here, high, highest, beside = (
        ExerciseFactory(slug=name.lower(), revision__name=name) for name in names
    )
    pathway = PathwayFactory(name="Squatting", chain=[lowest, low, here, high, highest])
    pathway.steps.filter(harder=here).update(change="Lower seat.", ready="Ready when ten are calm.")
    pathway.steps.filter(easier=here).update(change="No seat.", ready="Ready when twelve are calm.")
    Lateral.between(pathway, here, beside).save()
    answer = coach.get(reverse("library:exercise", args=["here"]))
    (way,) = answer.context["page"].neighbours
    assert [str(step.easier) for step in way.down] == ["Low"]
    assert [str(step.harder) for step in way.up] == ["High"]
    assert [str(one) for one in way.beside] == ["Beside"]
    assert [str(one) for one in way.far_down] == ["Lowest"]
    assert [str(one) for one in way.far_up] == ["Highest"]
    assert way.lane.description == "Here is on level 3 of 5, from easier to harder"
    text = text_of(answer)
    for words in ("Lower seat.", "Ready when ten are calm.", "No seat.", "Just as hard: Beside"):
        assert words in text
    assert f'href="{reverse("library:exercise", args=["low"])}"' in markup(answer)


def test_an_exercise_says_everything_a_coach_needs(coach):
    ItemFactory(slug="dining-chair", name="Dining chair")
    ItemFactory(slug="sofa", name="Sofa")
    ExerciseFactory(
        slug="sit",
        revision__needs=[("a stable seat", ["dining-chair", "sofa"])],
        revision__caution="No wheels.",
        revision__watch=True,
        revision__contacts=2,
        revision__tempo="3-0-X-0",
        revision__sides="each",
    )
    text = text_of(coach.get(reverse("library:exercise", args=["sit"])))
    for words in (
        "A chair with its back to the wall.",
        "“Sit like a feather”",
        "Knees fall in “Show me your knees”",
        "Stop when a knee hurts.",
        "No wheels.",
        "a stable seat dining chair or sofa",
        "lifting fast",
        "8 repetitions each side, usually 5 to 12",
        "carries load thigh, knee",
        "moves or steadies ankle",
        "landings 2 a repetition",
        "a grown-up watches",
        "On no pathway yet",
    ):
        assert words in text, words


def test_a_pathway_lists_its_exercises_from_easy_to_hard(coach):
    low, high, beside = (ExerciseFactory(revision__name=name) for name in ("Low", "High", "Also"))
    pathway = PathwayFactory(slug="way", chain=[low, high])
    Lateral.between(pathway, low, beside).save()
    answer = coach.get(reverse("library:pathway", args=["way"]))
    stations = answer.context["page"].stations
    assert [(str(each.exercise), each.level) for each in stations] == [
        ("Also", 1),
        ("Low", 1),
        ("High", 2),
    ]
    assert [str(step) for each in stations for step in each.steps] == ["Low → High"]
    assert [str(pair) for each in stations for pair in each.laterals] == ["Low ~ Also"]


# Every page


PAGES = [
    ("library:list", []),
    ("library:exercise", ["squat-1"]),
    ("library:edit_exercise", ["squat-1"]),
    ("library:retire", ["squat-1"]),
    ("library:new_exercise", []),
    ("library:pathway", ["squat"]),
    ("library:edit_pathway", ["squat"]),
    ("library:new_pathway", []),
]


def grow(count: int) -> Pathway:
    """A pathway that is `count` steps long, needs, revisions and laterals included."""
    begun = Exercise.objects.count()
    chain = []
    for number in range(begun + 1, begun + count + 2):
        exercise = ExerciseFactory(
            slug=f"squat-{number}", revision__needs=[("a seat", [f"item-{number}"])]
        )
        said = ExerciseRevision.objects.filter(pk=exercise.current_id).values().get()
        del said["id"], said["search"]
        exercise.current = RevisionFactory(**said | {"number": 2, "stop": "Stop."})
        exercise.save()
        chain.append(exercise)
    pathway = Pathway.objects.filter(slug="squat").first() or PathwayFactory(slug="squat")
    for easier, harder in itertools.pairwise(chain):
        pathway.steps.create(easier=easier, harder=harder, change="x", ready="y")
        Lateral.between(pathway, easier, ExerciseFactory()).save()
    first = Exercise.objects.get(slug="squat-1")
    if first != chain[0]:
        pathway.steps.create(easier=first, harder=chain[0], change="x", ready="y")
    return pathway


@pytest.mark.parametrize(("name", "args"), PAGES)
def test_a_page_asks_as_little_of_a_large_library_as_of_a_small_one(
    coach, name, args, django_assert_max_num_queries
):
    counts = []
    for size in (2, 12):
        grow(size)
        with django_assert_max_num_queries(12) as captured:
            assert coach.get(reverse(name, args=args)).status_code == 200
        counts.append(len(captured))
    assert counts[0] == counts[1]


def test_a_library_of_two_thousand_is_still_bearable(coach, django_assert_max_num_queries):
    load(STARTER)
    copy_everything(times=15)
    assert Exercise.objects.count() > 1_900
    for asked in ({}, {"q": "sid plank"}, {"kit": "room", "page": 9}):
        with django_assert_max_num_queries(12):
            answer = coach.get(reverse("library:list"), asked)
        assert len(answer.content) < 150_000


def copy_everything(times: int) -> None:
    originals = list(Exercise.objects.with_full_page())
    for number in range(times):
        copies = Exercise.objects.bulk_create(
            Exercise(slug=f"{each.slug}-{number}") for each in originals
        )
        write_revisions(
            [
                Written(copy, 1, Content.of(each.current), "a test")
                for copy, each in zip(copies, originals, strict=True)
            ]
        )
