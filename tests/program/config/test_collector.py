"""The garbage collector works between a server's requests, and lets an old library go."""

import gc
import weakref

import pytest
from django.core.signals import request_finished
from django.urls import reverse

from program.common.library_snapshot import library_read, library_snapshot
from program.config.collector import collect, collect_between_requests, set_aside
from tests.support.factories import ExerciseFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def _as_the_server():
    before = gc.get_threshold()
    collect_between_requests()
    yield
    request_finished.disconnect(collect)
    library_read.disconnect(set_aside)
    gc.set_threshold(*before)
    gc.unfreeze()


class Knot:
    """Only the collector undoes it."""

    def __init__(self):
        self.itself = self


@pytest.mark.usefixtures("_as_the_server")
def test_what_a_request_leaves_is_collected_after_it(client):
    knot = weakref.ref(Knot())
    assert knot() is not None
    client.get(reverse("account_login"))
    assert knot() is None


@pytest.mark.usefixtures("_as_the_server")
def test_the_library_is_set_aside_and_let_go_once_there_is_another_edition():
    exercise = ExerciseFactory(revision__needs=[("a seat", ["stool"])])  # which points back at it
    first = weakref.ref(library_snapshot().revisions[exercise.slug])
    assert first() is not None
    assert gc.get_freeze_count() > 0
    ExerciseFactory()
    library_snapshot()
    assert first() is None
