"""Where children stand on pathways, through the pages."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.changes import place
from athletes.models import Placement
from tests.support.children_pages import assert_well_made, errors_of, text
from tests.support.factories import ChildFactory, ExerciseFactory, PathwayFactory, UserFactory
from tests.support.markup import markup

pytestmark = pytest.mark.django_db


@pytest.fixture
def squats():
    return [ExerciseFactory(slug=slug) for slug in ("half-squat", "squat", "goblet-squat")]


@pytest.fixture
def pathway(squats):
    return PathwayFactory(slug="squat", name="Squat", chain=squats)


@pytest.fixture
def board(cast, pathway) -> str:
    return reverse("athletes:placements", args=[cast.cohort.pk, pathway.slug])


def move(client, board, child, exercise, htmx=False, **fields):
    fields |= {"move": f"{child.public_id}:{exercise}"}
    headers = {"HX-Request": "true"} if htmx else {}
    return client.post(f"{board}move/", fields, headers=headers)


def stands(child) -> list[str]:
    return [placement.exercise.slug for placement in child.placements.current()]


def retire(exercise):
    exercise.status = "retired"
    exercise.save()


def test_all_children_of_the_cohort_stand_on_one_lane(cast, coach, board, pathway, squats):
    lea = ChildFactory(given_name="Lea", cohort=cast.cohort)
    ChildFactory(given_name="Tom", cohort=cast.cohort)
    place(cast.child, pathway, squats[0], cast.coach)
    place(lea, pathway, squats[2], cast.coach)
    answer = coach.get(board)
    assert_well_made(answer)
    read = text(answer)
    assert "Not placed yet Tom T. easier harder Half squat Mira T." in read
    assert read.index("Mira T. to the harder Squat") < read.index("Lea T. to the easier Squat")
    assert "Lea T. to the harder" not in read


def test_a_child_is_moved_with_a_why_that_is_kept_with_the_name(
    cast, coach, board, pathway, squats
):
    place(cast.child, pathway, squats[0], cast.head_coach, "Seen on Monday.")
    answer = move(coach, board, cast.child, "squat", why="Two calm sessions.")
    assert answer.headers["location"] == board
    assert stands(cast.child) == ["squat"]
    read = text(coach.get(board, {"child": cast.child.public_id}))
    assert "Mira T. works on Squat now." in read
    assert "Squat from 4 November 2026 Owning Coach: Two calm sessions." in read
    assert "Half squat from 4 November 2026 to 4 November 2026 Head Coach: Seen on Monday." in read


def test_htmx_gets_the_board_as_it_is_then(cast, coach, board):
    answer = move(coach, board, cast.child, "squat", htmx=True)
    body = markup(answer)
    assert body.strip().startswith('<form id="board"')
    assert "Mira T. works on Squat now." in text(answer)
    assert f'id="easier-{cast.child.public_id}"' in body


def test_moving_twice_to_one_exercise_is_one_move(cast, coach, board):
    move(coach, board, cast.child, "squat")
    move(coach, board, cast.child, "squat")
    assert Placement.objects.count() == 1


@pytest.mark.parametrize("sent", ["", "squat", "not-a-child:squat", "x" * 36 + ":squat"])
def test_a_move_without_child_or_exercise_is_refused_in_plain_words(coach, board, sent):
    answer = coach.post(f"{board}move/", {"move": sent})
    assert "Choose an exercise first." in errors_of(answer)
    assert not Placement.objects.exists()


def test_a_move_to_an_exercise_retired_meanwhile_is_refused(cast, coach, board, squats):
    retire(squats[1])
    answer = move(coach, board, cast.child, "squat")
    assert "This exercise is no longer on the pathway. Choose another." in errors_of(answer)
    assert not Placement.objects.exists()


def test_a_why_that_is_too_long_is_refused_at_its_field_and_kept(cast, coach, board):
    answer = move(coach, board, cast.child, "squat", why="x" * 201)
    assert "At most 200 characters." in errors_of(answer)
    assert "x" * 201 in markup(answer)
    assert not Placement.objects.exists()


def test_a_child_who_is_not_in_the_cohort_is_not_moved_there(cast, client_for, board):
    answer = move(client_for(cast.head_coach), board, cast.other_child, "squat")
    assert answer.status_code == 404
    assert not Placement.objects.exists()


def test_a_placement_on_a_retired_exercise_needs_a_decision(cast, coach, board, pathway, squats):
    place(cast.child, pathway, squats[1], cast.coach)
    retire(squats[1])
    read = text(coach.get(board))
    assert "Needs a decision the exercise is no longer offered Mira T. Squat is retired" in read
    chosen = text(coach.get(board, {"child": cast.child.public_id}))
    assert "Squat is retired: choose where to go on" in chosen
    move(coach, board, cast.child, "half-squat")
    assert "Needs a decision" not in text(coach.get(board))


def test_a_placement_on_an_exercise_taken_off_the_pathway_needs_a_decision(
    cast, coach, board, pathway, squats
):
    place(cast.child, pathway, squats[2], cast.coach)
    pathway.steps.get(harder=squats[2]).delete()
    assert "Goblet squat is no longer on this pathway" in text(coach.get(board))


def test_a_pathway_that_contradicts_itself_says_so_instead_of_breaking(
    cast, coach, board, pathway, squats
):
    with connection.cursor() as behind_its_back:
        behind_its_back.execute("ALTER TABLE library_lateral DISABLE TRIGGER USER")
    pathway.laterals.create(one=squats[0], other=squats[1])
    assert "This pathway contradicts itself" in text(coach.get(board))


def test_enter_in_the_why_moves_nobody(coach, board):
    """A browser then presses the form's first button: it must be one that does nothing."""
    body = markup(coach.get(board))
    form = body[body.index('<form id="board"') :]
    assert form[form.index("<button") :].startswith("<button disabled hidden>")


def test_the_way_to_the_board_leads_to_the_first_cohort_and_pathway(cast, coach, board):
    assert coach.get(reverse("athletes:all_placements")).headers["location"] == board


def test_without_cohort_or_pathway_the_page_says_what_is_missing(cast, coach, client_for):
    address = reverse("athletes:all_placements")
    answer = coach.get(address)
    assert_well_made(answer)
    assert "No pathway yet" in text(answer)
    assert "No cohort yet" in text(client_for(UserFactory(role="coach")).get(address))


# One child


def first(child) -> str:
    return reverse("athletes:first_placement", args=[child.public_id])


def test_a_child_is_first_placed_on_all_that_was_seen_and_nothing_else(
    cast, coach, pathway, squats
):
    pushes = [ExerciseFactory(slug="wall-push"), ExerciseFactory(slug="floor-push")]
    PathwayFactory(slug="push", name="Push", chain=pushes)
    assert_well_made(coach.get(first(cast.child)))
    fields = {"on-squat": "squat", "on-push": "", "why": "First session."}
    answer = coach.post(first(cast.child), fields, follow=True)
    assert "Mira T. is placed on 1 pathway." in text(answer)
    placement = Placement.objects.get()
    assert (placement.exercise.slug, placement.why) == ("squat", "First session.")
    assert placement.placed_by == cast.coach


def test_placing_again_starts_from_where_the_child_stands(cast, coach, pathway, squats):
    place(cast.child, pathway, squats[1], cast.coach)
    form = coach.get(first(cast.child)).context["form"]
    assert form["on-squat"].value() == "squat"
    coach.post(first(cast.child), {"on-squat": "squat"})
    assert Placement.objects.count() == 1


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"on-squat": "plank"}, "This exercise is no longer on the pathway. Choose another."),
        ({"on-squat": "squat", "why": "x" * 201}, "At most 200 characters."),
    ],
)
def test_a_wrong_first_placement_is_refused_at_its_field(cast, coach, pathway, fields, message):
    answer = coach.post(first(cast.child), fields)
    assert message in errors_of(answer)
    assert not Placement.objects.exists()


def test_an_exercise_retired_at_this_moment_is_refused_in_plain_words(
    cast, coach, pathway, monkeypatch
):
    from django.core.exceptions import ValidationError

    def refuse(*_):
        raise ValidationError("Squat is not published. Choose another exercise.")

    monkeypatch.setattr("athletes.forms.placements.place_all", refuse)
    answer = coach.post(first(cast.child), {"on-squat": "squat"})
    assert "Squat is not published. Choose another exercise." in text(answer)


# Queries


def queries_of(client, address, **query) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(address, query).status_code == 200
    return len(captured)


def test_the_board_takes_as_many_queries_for_many_children_as_for_few(
    cast, coach, board, pathway, squats
):
    place(cast.child, pathway, squats[0], cast.coach)
    few = queries_of(coach, board, child=cast.child.public_id)
    for n in range(12):
        child = ChildFactory(cohort=cast.cohort)
        place(child, pathway, squats[n % 3], cast.coach)
        place(cast.child, pathway, squats[n % 3], cast.coach)
    assert queries_of(coach, board, child=cast.child.public_id) == few <= 12


def test_a_first_placement_takes_as_many_queries_for_many_pathways_as_for_few(
    cast, coach, pathway, squats
):
    address = reverse("athletes:first_placement", args=[cast.child.public_id])
    place(cast.child, pathway, squats[0], cast.coach)
    few = queries_of(coach, address)
    for _ in range(8):
        easy = ExerciseFactory()
        place(cast.child, PathwayFactory(chain=[easy, ExerciseFactory()]), easy, cast.coach)
    assert queries_of(coach, address) == few <= 12
