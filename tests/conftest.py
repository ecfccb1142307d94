import logging
import os
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.db import connection
from django.test import Client
from hypothesis import settings as hypothesis_settings
from xdist.remote import Producer
from xdist.scheduler import LoadScopeScheduling

from library.models import Pathway
from tests.support import scene as club
from tests.support.cast import named_cast
from tests.support.factories import MONDAY
from tests.support.family import EVENING
from tests.support.scene import Scene
from tests.support.sliding import pathway_of_slides

CHROMIUM = Path("/usr/bin/chromium")
IN_A_BROWSER = {
    "tests/library/figures/test_in_a_browser.py",
    "tests/library/figures/test_look.py",
}
# A loaded machine is slow, not wrong: an example may take its time.
hypothesis_settings.register_profile("unhurried", hypothesis_settings(), deadline=None)
hypothesis_settings.load_profile("unhurried")

MUST_NOT_SKIP = os.environ.get("CI") == "true"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Browser tests need Debian's Chromium: without it they say so, and CI does without no test."""
    if CHROMIUM.exists() or MUST_NOT_SKIP:
        return
    for item in items:
        if item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.skip(reason=f"no Chromium at {CHROMIUM}"))


class OneBrowserAtATime(LoadScopeScheduling):
    """Shares the tests out by their files, all that drive a browser to one worker.

    Two Chromiums on two cores wait for each other until they run out of time. xdist has a mark for
    this; under pytest 9.2 it does nothing.
    """

    def _split_scope(self, nodeid: str) -> str:
        path = nodeid.partition("::")[0]
        return "browser" if path.startswith("tests/browser/") or path in IN_A_BROWSER else path


def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> OneBrowserAtATime:
    return OneBrowserAtATime(config, log)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict) -> dict:
    return {**browser_type_launch_args, "executable_path": str(CHROMIUM)}


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker) -> Iterator[None]:
    """The test database, which at the end is taken away whoever still has it open: a thread of the
    live server's lets go of it only some time after the last browser has gone."""
    yield
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )


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

    def signed_in(person) -> Client:
        client = Client()
        client.force_login(person, backend="allauth.account.auth_backends.AuthenticationBackend")
        return client

    return signed_in


@pytest.fixture
def coach(cast, client_for) -> Client:
    return client_for(cast.coach)


@pytest.fixture
def evening(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is the evening on which the tests about families happen."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: EVENING)


@pytest.fixture
def nothing_to_agree_to(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the finding about agreements, which almost every child here lacks; see
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
