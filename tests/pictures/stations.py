"""What is shown of each station of the loop, as whom, and how the page comes to look so."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final
from zoneinfo import ZoneInfo

from django.urls import reverse
from playwright.sync_api import Page, ViewportSize

from athletes.models import Child, Cohort, User
from program.common.addresses import address
from program.models import AssignedSession, Session
from tests.support.following import tap

FRIDAY: Final = dt.date(2026, 5, 15)
"""The demo's today: nearly a week lies behind it, and every child has a session at home."""
AFTERNOON: Final = dt.datetime.combine(FRIDAY, dt.time(16, 30), ZoneInfo("Europe/London"))

DESK: Final[ViewportSize] = {"width": 1280, "height": 800}
PHONE: Final[ViewportSize] = {"width": 390, "height": 844}

INTO_THE_WORK: Final = 97_000
"""Milliseconds of the session until the picture: it has been set up, and somebody moves."""

NEARLY_TO_THE_END: Final = "scrollTo(0, document.documentElement.scrollHeight - innerHeight - 40)"
STANDS_STILL: Final = """holder => {
    const drawing = holder.shadowRoot.querySelector("svg");
    drawing.pauseAnimations();
    drawing.setCurrentTime(2.5);
}"""
"""A figure moves by a clock that is not the page’s."""

COACH, PARENT = "coach@fledge.example", "parent@fledge.example"


def as_it_opens(page: Page) -> None:
    """Nothing is done before the picture."""


@dataclass(frozen=True)
class Station:
    """One picture: who looks, on which screen, where, and what they do there first."""

    name: str
    email: str
    screen: ViewportSize
    where: Callable[[], str]
    first: Callable[[Page], None] = as_it_opens


def _next_week() -> Session:
    """The coach's next session at home that is still to be published."""
    coach = User.objects.get(email=COACH)
    cohort = Cohort.objects.visible_to(coach).get(name="Swifts")
    return Session.objects.filter(
        block__cohort=cohort, date__gt=FRIDAY, name="Slow steps"
    ).earliest("date")


def _child() -> Child:
    return User.objects.get(email=PARENT).children.order_by("pk").first()


def _today() -> AssignedSession:
    return AssignedSession.objects.get(child=_child(), date=FRIDAY)


def _exercise() -> str:
    return reverse("library:exercise", args=["split-squat"])


def _review() -> str:
    coach = User.objects.get(email=COACH)
    swifts = Cohort.objects.visible_to(coach).get(name="Swifts")
    return f"{reverse('program:review')}?cohort={swifts.pk}"


def _builder() -> str:
    return reverse("program:build", args=[_next_week().pk])


def _who_gets_what() -> str:
    return reverse("program:who_gets_what", args=[_next_week().pk])


def _pathways() -> str:
    return f"{reverse('program:child_review', args=[_child().public_id])}#pathways"


def _day() -> str:
    return address(_today(), _child())


def _follow() -> str:
    return address(_today(), _child(), "follow")


def _log() -> str:
    return address(_today(), _child(), "log")


def _open_a_place(page: Page) -> None:
    """A place that waits for an answer, with what would fit beside it."""
    page.locator(".fit-cell-undecided a").last.click()
    page.locator("#deciding-panel form").first.wait_for()
    page.evaluate(NEARLY_TO_THE_END)


def _into_the_work(page: Page) -> None:
    page.emulate_media(reduced_motion="no-preference")
    page.wait_for_selector(".is-live", state="attached")
    page.clock.pause_at(AFTERNOON + dt.timedelta(minutes=1))
    tap(page, "Start")
    page.clock.run_for(INTO_THE_WORK)
    page.locator("[data-figure][data-drawn]").evaluate(STANDS_STILL)


STATIONS: Final = (
    Station("library", COACH, DESK, _exercise),
    Station("builder", COACH, DESK, _builder),
    Station("who-gets-what", COACH, DESK, _who_gets_what, _open_a_place),
    Station("day", PARENT, PHONE, _day),
    Station("follow-along", PARENT, PHONE, _follow, _into_the_work),
    Station("log", PARENT, PHONE, _log),
    Station("review", COACH, DESK, _review),
    Station("placement", COACH, DESK, _pathways),
)
