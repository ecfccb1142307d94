import os
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.test import Client
from hypothesis import settings as hypothesis_settings

from tests.cast import named_cast
from tests.factories import MONDAY

CHROMIUM = Path("/usr/bin/chromium")
# A loaded machine is slow, not wrong: an example may take its time.
hypothesis_settings.register_profile("unhurried", hypothesis_settings(), deadline=None)
hypothesis_settings.load_profile("unhurried")

MUST_NOT_SKIP = os.environ.get("CI") == "true"


@pytest.hookimpl(tryfirst=True)  # before xdist reads the groups
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Browser tests need Debian's Chromium: without it they say so, and CI does without no test.

    Where two workers share the tests (`.ci/run`), one of them takes everything that needs the
    machine's attention to itself, so that two Chromiums never compete.
    """
    for item in items:
        if not item.get_closest_marker("browser"):
            continue
        item.add_marker(pytest.mark.xdist_group("browser"))
        if not (CHROMIUM.exists() or MUST_NOT_SKIP):
            item.add_marker(pytest.mark.skip(reason=f"no Chromium at {CHROMIUM}"))


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict) -> dict:
    return {**browser_type_launch_args, "executable_path": str(CHROMIUM)}


@pytest.fixture
def monday():
    return MONDAY


@pytest.fixture
def cast(db) -> SimpleNamespace:
    """The people most tests need; see `tests.cast`."""
    return named_cast()


@pytest.fixture
def client_for() -> Iterator:
    """A signed-in test client for a person."""

    def signed_in(person) -> Client:
        client = Client()
        client.force_login(person, backend="allauth.account.auth_backends.AuthenticationBackend")
        return client

    return signed_in
