import datetime as dt

import pytest

NOW = dt.datetime(2026, 11, 4, 10, 0, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def now(monkeypatch):
    """A Wednesday morning in the season of the factories."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    return NOW


@pytest.fixture
def today():
    return NOW.date()


@pytest.fixture
def told():
    """What planners were told, in order: the child's name and what changed."""
    from athletes.signals import circumstances_changed

    heard = []

    def hear(child, what, **_):
        heard.append((child.given_name, what.value))

    circumstances_changed.connect(hear)
    yield heard
    circumstances_changed.disconnect(hear)
