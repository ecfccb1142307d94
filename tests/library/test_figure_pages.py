import pytest
from django.urls import reverse

from library.figures import movement
from library.templatetags.figures import figure

pytestmark = pytest.mark.django_db


@pytest.fixture
def ask(cast, client_for):
    parent = client_for(cast.guardian)
    return lambda slug="free-squat", query="": parent.get(
        reverse("library:figure", args=[slug]) + query
    )


def test_a_parent_sees_an_exercise_move(ask):
    answer = ask()
    assert answer.headers["Content-Type"] == "image/svg+xml"
    assert b"<animate" in answer.content


def test_a_still_does_not_move(ask):
    assert b"<animate" not in ask(query="?still").content


def test_the_other_side_is_another_drawing(ask):
    assert ask("split-squat", "?side=right").content != ask("split-squat").content


def test_a_figure_is_sent_once_and_then_only_confirmed(cast, client_for, ask):
    first = ask()
    again = client_for(cast.guardian).get(
        reverse("library:figure", args=["free-squat"]),
        headers={"If-None-Match": first.headers["ETag"]},
    )
    assert again.status_code == 304


def test_an_exercise_without_a_figure_is_a_404_and_leaves_no_broken_image(ask):
    assert ask("no-such-exercise").status_code == 404
    assert figure("no-such-exercise") == {}


def test_a_bad_movement_file_counts_as_no_figure(ask, tmp_path, monkeypatch):
    (tmp_path / "broken.toml").write_text("title = 3")
    monkeypatch.setattr(movement, "FOLDER", tmp_path)
    assert figure("broken") == {}
    assert ask("broken").status_code == 404
