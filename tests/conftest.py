import os
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.test import Client

from tests.factories import MONDAY, ChildFactory, CohortFactory, UserFactory

CHROMIUM = Path("/usr/bin/chromium")
MUST_NOT_SKIP = os.environ.get("CI") == "true"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Browser tests need Debian's Chromium: without it they say so, and CI does without no test."""
    if CHROMIUM.exists() or MUST_NOT_SKIP:
        return
    for item in items:
        if item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.skip(reason=f"no Chromium at {CHROMIUM}"))


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict) -> dict:
    return {**browser_type_launch_args, "executable_path": str(CHROMIUM)}


@pytest.fixture
def monday():
    return MONDAY


@pytest.fixture
def cast(db) -> SimpleNamespace:
    """The people most tests need.

    `coach` owns `cohort` with `child`, whose parent is `guardian` and whose own sign-in is
    `athlete`; `other_coach` owns `other_cohort` with `other_child` of `other_guardian`;
    `head_coach` sees all; `nobody` is a guardian without a child.
    """
    coach = UserFactory(name="Owning Coach", role="coach")
    other_coach = UserFactory(name="Other Coach", role="coach")
    head_coach = UserFactory(name="Head Coach", role="head_coach")
    guardian = UserFactory(name="Own Parent")
    other_guardian = UserFactory(name="Other Parent")
    nobody = UserFactory(name="Nobody Here")
    athlete = UserFactory(name="Young Athlete", role="athlete")
    cohort = CohortFactory(name="Own cohort", coached_by=[coach])
    other_cohort = CohortFactory(name="Other cohort", coached_by=[other_coach])
    child = ChildFactory(given_name="Mira", cohort=cohort, guardian=guardian, user=athlete)
    other_child = ChildFactory(given_name="Ivo", cohort=other_cohort, guardian=other_guardian)
    return SimpleNamespace(**locals())


@pytest.fixture
def client_for() -> Iterator:
    """A signed-in test client for a person."""

    def signed_in(person) -> Client:
        client = Client()
        client.force_login(person, backend="allauth.account.auth_backends.AuthenticationBackend")
        return client

    return signed_in
