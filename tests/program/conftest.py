import logging
from collections.abc import Iterator

import pytest

from library.models import Pathway
from tests.program import scene as club
from tests.program.scene import Scene
from tests.program.sliding import pathway_of_slides


@pytest.fixture(scope="module")
def _made(django_db_setup: None, django_db_blocker) -> Iterator[Scene]:
    """Made once for the tests of a file, which ask for much and change nothing."""
    requests = logging.getLogger("django.request")
    level = requests.level
    # Thousands of refusals, each wished for, need no line in a log.
    requests.setLevel(logging.ERROR)
    with django_db_blocker.unblock(), club.scene() as scene:
        yield scene
    requests.setLevel(level)


@pytest.fixture
def scene(_made: Scene, db: None) -> Scene:
    """The club of `scene.py`, for a test that visits its addresses."""
    return _made


@pytest.fixture
def slides(db: None) -> Pathway:
    return pathway_of_slides()
