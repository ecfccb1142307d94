"""A coach in the hall logs twenty-four children on a tablet, also when the connection drops."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from program.models import Completion, PainReport
from tests.browser.screens import PHONE
from tests.program.family import EVENING
from tests.program.test_group_log import group_session

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

UPRIGHT = {"width": 820, "height": 1180}
LYING = {"width": 1180, "height": 820}
NAMES = [f"Kid{n:02}" for n in range(24)]
SECONDS = 120


@pytest.fixture
def session(cast, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: EVENING)
    return group_session(cast.cohort, NAMES, guardian=cast.guardian)


@pytest.fixture
def tablet(browse, cast, session):
    """The group's log on a tablet, standing or lying."""

    def opened(viewport, **options):
        page = browse(cast.coach, viewport, has_touch=True, **options)
        page.goto(reverse("program:group_log", args=[session.pk]))
        return page

    return opened


def line(page, name):
    return page.locator("[data-line]", has=page.locator("legend", has_text=name))


def tap(page, name, word):
    line(page, name).locator(".tap", has_text=re.compile(f"^{word}")).first.tap()


def test_twenty_four_children_are_logged_in_few_taps_and_once_on_a_double_tap(tablet, session):
    page = tablet(UPRIGHT)
    expect(page.locator("[data-group-said]")).to_have_text("0 of 24 told")
    taps = 1
    page.get_by_role("button", name="Everybody as planned").tap()
    expect(page.locator("[data-group-said]")).to_have_text("24 of 24 told")
    exceptions = [("Kid03", "sick"), ("Kid07", "away"), ("Kid11", "no word"), ("Kid05", "did less")]
    efforts = [(name, str(3 + n % 5)) for n, name in enumerate(NAMES)]
    told = [each for each in efforts if each[0] not in {"Kid03", "Kid07", "Kid11"}]
    for name, word in [*exceptions, *told, ("Kid09", "hurt")]:
        tap(page, name, word)
        taps += 1
    hurt = line(page, "Kid09")
    expect(hurt.get_by_text("Then stop here.")).to_be_visible()
    hurt.get_by_label("Where?").select_option(label="ankle")
    hurt.get_by_text("right", exact=True).tap()
    hurt.get_by_role("group", name="How much?").get_by_text("3", exact=True).tap()
    page.get_by_role("button", name="Save the group’s log").dblclick()
    expect(page.get_by_text("Saved: 21 there, 1 sick, 1 away, 1 no word, 1 hurt.")).to_be_visible()
    taps += 5
    # A tap every three seconds is a calm pace.
    assert taps * 3 <= SECONDS, taps
    logs = Completion.objects.filter(assigned_session__session=session)
    assert logs.count() == 24
    assert not logs.filter(edited_at__isnull=False).exists()
    assert logs.get(assigned_session__child__given_name="Kid05").state == "some"
    assert str(PainReport.objects.get()) == "right ankle, 3 of 10"
    assert page.evaluate("localStorage.length") == 0


def test_a_dropped_connection_loses_nothing_through_a_reload_and_sends_by_itself(tablet, session):
    page = tablet(LYING)
    page.get_by_role("button", name="Everybody as planned").tap()
    tap(page, "Kid02", "7")
    tap(page, "Kid04", "sick")
    page.context.set_offline(True)
    page.get_by_role("button", name="Save the group’s log").tap()
    expect(page.get_by_text("All of it is kept on this tablet")).to_be_visible()
    tap(page, "Kid06", "away")
    expect(line(page, "Kid06").get_by_role("radio", name="away")).to_be_checked()
    # Before it is sent by itself the tablet is shut, and opened again where there is a connection.
    page.evaluate("sessionStorage.clear()")
    page.goto("about:blank")
    page.context.set_offline(False)
    assert not Completion.objects.exists()
    page.go_back()
    expect(line(page, "Kid06").get_by_role("radio", name="away")).to_be_checked()
    expect(line(page, "Kid02").get_by_role("radio", name=re.compile(r"^7\b"))).to_be_checked()
    expect(page.get_by_text("It is not saved yet.")).to_be_visible()
    page.context.set_offline(True)
    page.get_by_role("button", name="Save the group’s log").tap()
    expect(page.get_by_text("All of it is kept on this tablet")).to_be_visible()
    page.context.set_offline(False)
    expect(page.get_by_text("Saved: 22 there, 1 sick, 1 away.")).to_be_visible(timeout=20_000)
    assert Completion.objects.get(assigned_session__child__given_name="Kid02").effort == 7
    assert page.evaluate("localStorage.length") == 0


def test_another_coachs_log_meanwhile_is_shown_and_signing_out_leaves_nothing(
    tablet, session, cast
):
    page = tablet(LYING)
    tap(page, "Kid01", "6")
    other = session.assigned.get(child__given_name="Kid01")
    Completion.objects.create(
        assigned_session=other, state="done", effort=3, logged_at=EVENING, logged_by=cast.head_coach
    )
    page.get_by_role("button", name="Save the group’s log").tap()
    expect(
        line(page, "Kid01").get_by_text(
            "Head Coach has logged this session meanwhile: done, effort 3"
        )
    ).to_be_visible()
    expect(line(page, "Kid01").get_by_role("radio", name=re.compile(r"^6\b"))).to_be_checked()
    assert page.evaluate("localStorage.length") == 1
    page.locator(".menu > summary").tap()
    page.get_by_role("button", name="Sign out").tap()
    page.wait_for_url("**/sign-in/")
    assert page.evaluate("localStorage.length") == 0


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [UPRIGHT, LYING, PHONE], ids=["upright", "lying", "phone"])
def test_nothing_stands_in_the_way_of_anybody(tablet, scheme, viewport):
    page = tablet(viewport, color_scheme=scheme)
    tap(page, "Kid01", "hurt")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    sizes = page.evaluate(
        "[...document.querySelectorAll('.tap')].map((e) => e.getBoundingClientRect())"
        ".map((r) => [r.width, r.height])"
    )
    assert min(width for width, _ in sizes) >= 40
    assert min(height for _, height in sizes) >= 48
