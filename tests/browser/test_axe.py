"""Axe-core looks at the demo's main pages, as a coach and a parent have them, on a desk and on a
phone, by day and by night: nothing that it calls serious or critical. No page is wider than the
screen."""

import datetime as dt
from collections.abc import Iterator
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.core.management import call_command
from django.urls import reverse
from playwright.sync_api import Page

from athletes.models import Child, Cohort, User
from library.models import Pathway
from program.demo.load import Size, load_demo
from program.models import AssignedSession, Session
from tests.support.screens import DESK, PHONE, put_on

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WEDNESDAY = dt.date(2026, 11, 25)
EVENING = dt.datetime.combine(WEDNESDAY, dt.time(18, 30), ZoneInfo("Europe/London"))
VIEWS = [(DESK, "light"), (PHONE, "light"), (PHONE, "dark")]
# By night only the colours are others.
RULES = {
    "light": {},
    "dark": {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}},
}
GRAVE = {"serious", "critical"}


@pytest.fixture
def demo(monkeypatch: pytest.MonkeyPatch) -> SimpleNamespace:
    """The demo on a Wednesday evening, and the things whose pages are looked at."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: EVENING)
    call_command("load_library")
    load_demo(Size(athletes=24, weeks=8), seed=1, today=WEDNESDAY)
    coach, parent = (User.objects.get(email=f"{who}@fledge.example") for who in ("coach", "parent"))
    child = parent.children.first()
    cohort = Cohort.objects.visible_to(coach).first()
    session = Session.objects.filter(block__cohort=cohort, date__gte=WEDNESDAY).first()
    pathway = Pathway.objects.first()
    return SimpleNamespace(
        coach=coach,
        parent=parent,
        child=child,
        cohort=cohort,
        session=session,
        slot=session.parts.first().slots.first(),
        trains=Child.objects.enrolled_in(cohort, session.date).first(),
        assigned=AssignedSession.objects.filter(child=child, date__gte=WEDNESDAY).first(),
        pathway=pathway,
        exercise=pathway.steps.first().easier,
    )


def pages_of_a_coach(demo: SimpleNamespace) -> dict[str, list[object]]:
    session, child = demo.session, demo.trains
    return {
        "program:week": [],
        "program:blocks": [],
        "program:block": [session.block_id],
        "program:block_children": [session.block_id],
        "program:block_of_child": [session.block_id, child.public_id],
        "program:build": [session.pk],
        "program:who_gets_what": [session.pk],
        "program:child_volumes": [session.pk],
        "program:intent": [session.pk, demo.slot.pk],
        "program:checks": [],
        "program:decision": [session.pk, demo.slot.pk, child.public_id],
        "program:place_on_landing": [session.pk],
        "program:recall": [demo.exercise.slug],
        "program:review": [],
        "program:came_back": [],
        "program:came_back_of": [session.pk],
        "program:child_review": [child.public_id],
        "athletes:children": [],
        "athletes:child": [child.public_id],
        "athletes:restrictions": [child.public_id],
        "athletes:placements": [demo.cohort.pk, demo.pathway.slug],
        "athletes:import": [],
        "athletes:kits": [demo.cohort.pk],
        "athletes:place_group": [demo.cohort.pk],
        "library:list": [],
        "library:exercise": [demo.exercise.slug],
        "library:edit_exercise": [demo.exercise.slug],
        "library:retire": [demo.exercise.slug],
        "library:pathway": [demo.pathway.slug],
    }


def pages_of_a_parent(demo: SimpleNamespace) -> dict[str, list[object]]:
    child = [demo.child.public_id]
    session = [*child, demo.assigned.public_id]
    return {
        "program:family": [],
        "program:child_day": child,
        "program:session_day": session,
        "program:read": session,
        "program:follow": session,
        "program:log": session,
        "program:ask": session,
        "program:sheet": session,
        "program:invite_guardian": child,
        "program:calendar_address": [],
        "athletes:kit": child,
        "athletes:restrictions": child,
        "athletes:growth": child,
    }


def grave_faults(page: Page, rules: dict) -> Iterator[str]:
    found = Axe().run(page, options={"resultTypes": ["violations"], **rules}).response["violations"]
    for fault in found:
        if fault["impact"] in GRAVE:
            where = ", ".join(node["target"][0] for node in fault["nodes"][:3])
            yield f"{fault['id']} ({fault['impact']}, {len(fault['nodes'])} times): {where}"


def spill(page: Page) -> Iterator[str]:
    wider = page.evaluate("document.documentElement.scrollWidth - innerWidth")
    if wider > 0:
        yield f"{wider} px wider than the screen"


def test_no_page_shuts_anybody_out_or_spills(demo, browse):
    wrong = []
    for who, pages_of in ((demo.coach, pages_of_a_coach), (demo.parent, pages_of_a_parent)):
        page = browse(who, reduced_motion="reduce")
        for name, ids in pages_of(demo).items():
            answer = page.goto(reverse(name, args=ids))
            assert answer is not None
            assert answer.status == 200, name
            page.evaluate("document.fonts.ready")
            for screen, scheme in VIEWS:
                put_on(page, screen, scheme)
                wrong += [
                    f"{name}, {screen['width']} px, {scheme}: {each}"
                    for each in (*grave_faults(page, RULES[scheme]), *spill(page))
                ]
    assert wrong == [], "\n".join(wrong)


# By a script, as the page's policy lets no markup bring a style along.
PLANT = """() => {
    document.querySelector('main').insertAdjacentHTML('beforeend', '<input><p>Planted</p>')
    const { style } = document.querySelector('main > p:last-child')
    Object.assign(style, { color: '#333', width: '400px' })
}"""


def test_a_fault_that_is_there_is_found(cast, browse):
    """The measure itself, by day and by night."""
    page = browse(cast.coach, reduced_motion="reduce")
    page.goto(reverse("program:week"))
    page.evaluate(PLANT)
    put_on(page, DESK, "light")
    by_day = [*grave_faults(page, RULES["light"]), *spill(page)]
    assert [each.split(" ")[0] for each in by_day] == ["label"]
    put_on(page, PHONE, "dark")
    by_night = [*grave_faults(page, RULES["dark"]), *spill(page)]
    contrast, wider = by_night
    assert contrast.startswith("color-contrast (serious")
    assert wider.endswith("px wider than the screen")
