import pytest
from django.db import IntegrityError
from django.urls import reverse

from library.figures import movement
from library.models import Exercise, ExerciseRevision
from library.revisions import Content, revise
from library.templatetags.figures import figure
from tests.support.factories import ExerciseFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def ask(cast, client_for):
    """The answer to a parent for the drawing at an address, or for that of an exercise."""
    parent = client_for(cast.guardian)

    def get(slug="free-squat", query="", **options):
        path = slug if slug.startswith("/") else reverse("library:figure", args=[slug])
        return parent.get(path + query, **options)

    return get


def test_a_parent_sees_an_exercise_move(ask):
    answer = ask()
    assert answer.headers["Content-Type"] == "image/svg+xml"
    assert b"<animate" in answer.content


def test_a_still_does_not_move(ask):
    assert b"<animate" not in ask(query="?still").content


def test_the_other_side_is_another_drawing(ask):
    assert ask("split-squat", "?side=right").content != ask("split-squat").content


def test_a_figure_moves_at_the_tempo_asked_for(ask):
    """1-0-1-0 is a loop of two seconds, 4-1-X-0 one of five and a half."""
    quick, slow = ask(query="?tempo=1-0-1-0"), ask(query="?tempo=4-1-x-0")
    assert b'dur="2s"' in quick.content
    assert b'dur="5.5s"' in slow.content
    assert quick["ETag"] != slow["ETag"] != ask()["ETag"]


@pytest.mark.parametrize("tempo", ["", "3-1", "0-0-0-0", "99-1-1-0", "<svg>"])
def test_a_tempo_without_sense_is_the_figures_own(ask, tempo):
    assert ask(query=f"?tempo={tempo}").content == ask().content


def test_less_motion_is_the_start_beside_the_end(ask):
    pair = ask(query="?pair")
    assert b"<animate" not in pair.content
    assert pair.content.count(b"<svg ") == 1 + 2
    assert len({pair["ETag"], ask()["ETag"], ask(query="?still")["ETag"]}) == 3


def test_a_figure_is_sent_once_and_then_only_confirmed(ask):
    again = ask(headers={"If-None-Match": ask().headers["ETag"]})
    assert again.status_code == 304


def test_an_exercise_without_a_figure_is_a_404_and_leaves_no_broken_image(ask):
    assert ask("no-such-exercise").status_code == 404
    assert figure("no-such-exercise", ExerciseRevision()) == {}


def test_a_bad_movement_file_counts_as_no_figure(ask, tmp_path, monkeypatch):
    (tmp_path / "broken.toml").write_text("title = 3")
    monkeypatch.setattr(movement, "FOLDER", tmp_path)
    assert figure("broken", ExerciseRevision()) == {}
    assert ask("broken").status_code == 404


# A figure of a revision's own


@pytest.fixture
def own():
    """An exercise whose second revision is shown by another exercise's movement."""
    text = (movement.FOLDER / "split-squat.toml").read_text()
    exercise = ExerciseFactory(slug="free-squat")
    said = Content.of(exercise.current)
    revise(exercise, Content({**said.fields, "movement": text}), by="Ines", base=1)
    return Exercise.objects.select_related("current").get(pk=exercise.pk)


def test_a_revision_shows_the_figure_it_carries_and_the_one_before_keeps_its_own(ask, own):
    first = own.revisions.get(number=1)
    still = figure("free-squat", first, still=True)
    assert still["url"] == "/library/figures/free-squat.svg?side=left&still"
    address = figure("free-squat", own.current, tempo="3-1-1-0")["url"]
    assert address == "/library/figures/free-squat/2.svg?side=left&tempo=3-1-1-0"
    assert ask(address).content.split(b"<desc>")[1].startswith(b"One foot ahead")
    assert b"The arms float up" in ask().content


def test_an_own_figure_is_sent_once_and_then_only_confirmed(ask, own):
    address = reverse("library:own_figure", args=["free-squat", 2])
    first = ask(address)
    again = ask(address, headers={"If-None-Match": first.headers["ETag"]})
    assert (first.status_code, again.status_code) == (200, 304)
    other = ask(address + "?side=right", headers={"If-None-Match": first["ETag"]})
    assert other.status_code == 200


def test_a_revision_without_a_figure_of_its_own_has_no_address_for_one(ask, own):
    for slug, number in (("free-squat", 1), ("free-squat", 3), ("no-such-exercise", 1)):
        answer = ask(reverse("library:own_figure", args=[slug, number]))
        assert answer.status_code == 404


def test_an_own_figure_that_can_no_longer_be_read_leaves_no_broken_image(own):
    own.current.movement = own.current.movement.replace("split-bottom", "hover")
    assert figure("free-squat", own.current) == {}


def test_the_database_refuses_a_movement_of_one_pose():
    text = (movement.FOLDER / "free-squat.toml").read_text().replace("[pose.bottom]", "[bottom]")
    with pytest.raises(IntegrityError, match="own_movement_has_two_poses_and_a_phase"):
        ExerciseFactory(revision__movement=text)
