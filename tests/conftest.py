import gc
import logging
import os
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.core.handlers.base import BaseHandler
from django.db import connection
from django.test import Client, TransactionTestCase
from hypothesis import settings as hypothesis_settings
from procrastinate.tasks import Task
from xdist.remote import Producer
from xdist.scheduler import LoadFileScheduling
from xdist.workermanage import WorkerController

from library.models import Pathway
from tests.support import scene as club
from tests.support.cast import named_cast
from tests.support.chromium import CHROMIUM, LAUNCH, WITH_WINDOWS
from tests.support.factories import MONDAY
from tests.support.family import EVENING
from tests.support.nobody import serving
from tests.support.scene import Scene
from tests.support.signing_in import signed_in
from tests.support.sliding import pathway_of_slides
from tests.support.work import after_commit

# A loaded machine is slow, not wrong: an example may take its time.
hypothesis_settings.register_profile("unhurried", hypothesis_settings(), deadline=None)
hypothesis_settings.load_profile("unhurried")

BaseHandler.get_response = serving(BaseHandler.get_response)

MUST_NOT_SKIP = os.environ.get("CI") == "true"

# What a test of a file takes, in seconds, where that is unlike the others. It decides on the order
# alone.
SECONDS = {"test_axe": 20, "test_demo_command": 3, "test_loop": 20, "test_running_installation": 3}
SECONDS_IN_A_BROWSER = 2
SECONDS_OTHERWISE = 0.1
MEASURES_TIME = "test_figure_in_step"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    skip_without_chromium(items)
    sort_by_files(items)


def skip_without_chromium(items: list[pytest.Item]) -> None:
    """Browser tests need Debian's Chromium: without it they say so, and CI does without no test."""
    if (CHROMIUM and WITH_WINDOWS) or MUST_NOT_SKIP:
        return
    for item in items:
        if item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.skip(reason="Debian's chromium is not installed"))


def sort_by_files(items: list[pytest.Item]) -> None:
    """First the files that drive a browser, the longest first, then the others, the longest last.

    What measures time in a browser comes before all: `FromBothEnds` has no second one run yet.
    """
    seconds: Counter[Path] = Counter()
    in_a_browser = {item.path for item in items if item.get_closest_marker("browser")}
    for item in items:
        usual = SECONDS_IN_A_BROWSER if item.path in in_a_browser else SECONDS_OTHERWISE
        seconds[item.path] += SECONDS.get(item.path.stem, usual)

    def place(item: pytest.Item) -> tuple[bool, bool, float, Path]:
        path = item.path
        drives = path in in_a_browser
        return not drives, path.stem != MEASURES_TIME, seconds[path] * (-1 if drives else 1), path

    items.sort(key=place)


class FromBothEnds(LoadFileScheduling):
    """Shares the tests out by their files. The first worker takes them from the front, where the
    browser is driven, the others from the back: two Chromiums on two cores get into each other's
    way, so a second one starts only where the first worker has too much left."""

    def _assign_work_unit(self, node: WorkerController) -> None:
        if node is not self.nodes[0]:
            self.workqueue.move_to_end(next(reversed(self.workqueue)), last=False)
        super()._assign_work_unit(node)


def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> FromBothEnds:
    config.option.loadscopereorder = False  # they come sorted
    return FromBothEnds(config, log)


def pytest_collection_finish() -> None:
    """What was imported and collected stays until the end: the garbage collector, which goes
    through all there is again and again, need not look at it, nor come as often."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(100_000, 20, 20)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict) -> dict:
    return browser_type_launch_args | LAUNCH


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker) -> Iterator[None]:
    """The test database, which at the end is taken away whoever still has it open: a thread of the
    live server's lets go of it only some time after the last browser has gone."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lambda _: delete_every_row())
        yield
    connection.close()  # a test may have had the server end it
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )


# Written by `migrate`, and by nobody else.
KEPT = {"django_migrations", "django_content_type", "auth_permission"}


def delete_every_row() -> None:
    """What a test that commits has left. Django truncates every table instead, which makes some 300
    files anew however little was in them, and writes its own rows again."""
    tables = sorted({*connection.introspection.table_names()} - KEPT)
    with connection.cursor() as cursor:
        cursor.execute(
            " UNION ALL ".join(f"(SELECT '{name}' FROM {name} LIMIT 1)" for name in tables)
        )
        filled = [name for (name,) in cursor.fetchall()]
        # In one go, so that the foreign keys, which wait until the end, are content.
        cursor.execute("; ".join(f"DELETE FROM {name}" for name in filled))


@pytest.fixture(autouse=True)
def work_is_done_after_each_commit(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if a worker were at hand and quick; `tests/program/operations` has real ones. Within a
    test's transaction no commit comes, and waiting for what follows one is in vain."""
    configure = Task.configure
    monkeypatch.setattr("library.shared.task_queue.A_MOMENT", 0)

    def and_do_it(task: Task, **options: object) -> object:
        after_commit()
        return configure(task, **options)

    monkeypatch.setattr(Task, "configure", and_do_it)


@pytest.fixture
def monday():
    return MONDAY


@pytest.fixture
def cast(db) -> SimpleNamespace:
    """The people most tests need; see `tests.support.cast`."""
    return named_cast()


@pytest.fixture
def client_for() -> Iterator:
    """A signed-in test client for a person."""

    return signed_in


@pytest.fixture
def coach(cast, client_for) -> Client:
    return client_for(cast.coach)


@pytest.fixture
def no_second_factor_needed(settings) -> None:
    """For a test in which weeks go by, and which is about something else."""
    settings.COACHES_NEED_SECOND_FACTOR = False


@pytest.fixture
def evening(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is the evening on which the tests about families happen."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: EVENING)


@pytest.fixture
def nothing_to_agree_to(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the finding about heights, of which almost no family here has said a word; see
    `tests/program/review/test_consent.py`."""
    monkeypatch.setattr("program.review.findings.consent_findings", lambda rows: ())


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
    """The club of `tests.support.scene`, for a test that visits its addresses."""
    return _made


@pytest.fixture
def slides(db: None) -> Pathway:
    return pathway_of_slides()
