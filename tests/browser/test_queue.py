"""A coach at the desk clears the queue with the keyboard alone."""

import datetime as dt
import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.core.management import call_command
from django.utils import timezone
from playwright.sync_api import expect

from athletes.models import Child, Placement, Restriction, User
from program.demo.load import Size, load_demo
from program.models import PainReport, Question, Resolution
from program.review.queue import queue_of
from tests.support.consents import HEIGHTS, said
from tests.support.factories import ChildFactory, CompletionFactory
from tests.support.family import EVENING, assign
from tests.support.queue import did, hurt, pathway_of_three, put
from tests.support.screens import DESK, PHONE, on_each

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def evening(evening, nothing_to_agree_to):
    """With the findings that these tests are about alone."""


def answered(page, key: str) -> None:
    """Press a key that answers, and wait until the queue is drawn anew and has the focus."""
    page.evaluate("document.querySelector('[data-queue]').dataset.old = ''")
    page.keyboard.press(key)
    expect(page.locator("[data-old]")).to_have_count(0)
    expect(page.locator("[data-finding]:focus, [data-queue]:focus")).to_have_count(1)


def focused(page) -> str:
    """The heading of the finding the keyboard is on, "" for none."""
    return page.evaluate("document.activeElement.querySelector('h2')?.textContent ?? ''")


def test_the_demos_queue_of_forty_children_is_cleared_with_the_keyboard_alone(browse_faultless):
    call_command("load_library")
    load_demo(Size(athletes=40, weeks=8), seed=1, today=timezone.localdate())
    head = User.objects.get(email="head@fledge.example")
    asked = {
        (each.who.child.pk, each.key) for each in queue_of(head, timezone.localdate()).findings
    }
    assert len(asked) > 20
    page = browse_faultless(head)
    page.goto("/review/")
    for _ in range(120):
        if page.get_by_role("heading", name="Nothing waits for you").count():
            break
        if page.evaluate("!!document.activeElement.querySelector('[data-words]')"):
            page.keyboard.press("a")
            page.keyboard.type("That is fine, as long as nothing hurts.")
            answered(page, "Control+Enter")
            continue
        # "Choose" leads to a page of its own; "not this time" beside it answers here.
        first = page.evaluate("document.activeElement.querySelector('[data-act]').tagName")
        answered(page, "2" if first == "A" else "1")
    expect(page.get_by_role("heading", name="Nothing waits for you")).to_be_visible()
    kept = set(Resolution.objects.values_list("child", "finding"))
    # Whoever is spared or goes gently since gets no more any longer, and is not asked about it.
    spared = set(Restriction.objects.filter(set_by=head).values_list("child", flat=True))
    spared |= set(Child.objects.exclude(growing_fast_until=None).values_list("pk", flat=True))
    assert {(child, key) for child, key in asked - kept if child not in spared} == set()
    assert all(key.startswith(("move_on", "add")) for _, key in asked - kept)
    assert set(Resolution.objects.values_list("by", flat=True)) == {head.pk}
    assert not PainReport.objects.unanswered().exists()
    assert Placement.objects.filter(placed_by=head, why__contains="two sessions").exists()


@pytest.fixture
def a_question(cast):
    return Question.objects.create(
        child=cast.child, text="What can she row?", asked_at=EVENING, asked_by=cast.guardian
    )


@pytest.fixture
def three_findings(cast, evening):
    """Pain in a foot and in a knee of one child, and another who is ready."""
    squats, ready = pathway_of_three(), ChildFactory(given_name="Ready", cohort=cast.cohort)
    put(ready, squats.pathway, squats.squat, cast.coach)
    for days_ago in (6, 3):
        did(ready, cast.guardian, days_ago, [(squats.squat, {"amount": 10})], effort=3)
    session = did(cast.child, cast.guardian, 20)
    for region, level in (("foot", 6), ("knee", 2)):
        hurt(session, cast.guardian, region=region, level=level)
    return squats


def test_n_and_p_walk_the_queue_and_z_takes_the_last_answer_back(
    cast, three_findings, browse_faultless
):
    page = browse_faultless(cast.coach)
    page.goto("/review/")
    assert focused(page).startswith("Left foot, 6 of 10")
    page.keyboard.press("n")
    assert focused(page).startswith("Left knee, 2 of 10")
    page.keyboard.press("n")
    page.keyboard.press("n")  # there is no fourth
    assert focused(page) == "Ready for more than Squat"
    page.keyboard.press("p")
    answered(page, "3")
    expect(page.get_by_role("heading", name="Two things")).to_be_visible()
    assert focused(page) == "Ready for more than Squat"
    answered(page, "z")
    expect(page.get_by_role("heading", name="Three things")).to_be_visible()
    assert focused(page).startswith("Left knee, 2 of 10")
    assert Resolution.objects.get().undone_by == cast.coach


def test_later_opens_a_day_and_escape_leaves_it(cast, three_findings, browse_faultless):
    page = browse_faultless(cast.coach)
    page.goto("/review/")
    page.keyboard.press("l")
    page.keyboard.press("Escape")
    assert focused(page).startswith("Left foot")
    page.keyboard.press("l")
    answered(page, "Enter")
    assert Resolution.objects.get().sentence.endswith("put off until 5 November 2026.")
    expect(page.get_by_text(re.compile("put off until 5 November 2026"))).not_to_have_count(0)


def test_h_hands_a_finding_on_to_another_coach(cast, three_findings, browse_faultless):
    page = browse_faultless(cast.coach)
    page.goto("/review/")
    page.keyboard.press("h")
    page.keyboard.press("Tab")
    answered(page, "Enter")
    expect(page.get_by_role("heading", name="With another coach")).to_be_visible()
    assert focused(page).startswith("Left knee, 2 of 10")
    assert Resolution.objects.get().to == cast.head_coach


def test_a_question_is_answered_without_leaving_the_keyboard(
    cast, three_findings, a_question, browse_faultless
):
    page = browse_faultless(cast.coach)
    page.goto("/review/")
    page.keyboard.press("n")
    page.keyboard.press("n")
    assert focused(page) == "“What can she row?”"
    page.keyboard.press("a")
    page.keyboard.press("Escape")
    assert focused(page) == "“What can she row?”"
    page.keyboard.press("a")
    page.keyboard.type("A bag with 2 books, nz")
    answered(page, "Control+Enter")
    assert Question.objects.get().answer == "A bag with 2 books, nz"


def test_o_opens_the_childs_page(cast, three_findings, browse_faultless):
    page = browse_faultless(cast.coach)
    page.goto("/review/")
    page.keyboard.press("o")
    page.wait_for_url(f"**/review/{cast.child.public_id}/")


def test_the_queue_works_without_javascript(cast, three_findings, browse_faultless):
    page = browse_faultless(cast.coach, java_script_enabled=False)
    page.goto("/review/")
    page.get_by_role("button", name=re.compile("No landings for two weeks.*Left foot")).click()
    expect(
        page.get_by_text("Mira T.: Left foot, 6 of 10: no landings for two weeks.")
    ).to_be_visible()
    page.get_by_role("status").get_by_role("button", name="Take back").click()
    expect(page.get_by_text("Mira T.: taken back.")).to_be_visible()


def test_an_address_pasted_into_a_question_does_not_widen_the_queue(
    cast, a_question, browse_faultless
):
    a_question.text = "Like this? https://film.example/" + "squat" * 24
    a_question.save()
    page = browse_faultless(cast.coach, PHONE)
    page.goto("/review/")
    expect(page.get_by_role("heading", name="Like this?")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0


def test_all_five_stations_stand_on_one_line_of_a_phone_and_none_is_cut(
    cast, three_findings, browse_faultless
):
    page = browse_faultless(cast.coach, PHONE)
    page.goto("/review/")
    stations = page.get_by_role("navigation", name="Stations").get_by_role("link")
    expect(stations).to_have_count(5)
    for width, lines in ((320, 2), (360, 1), (390, 1)):
        page.set_viewport_size({"width": width, "height": 800})
        boxes = [station.bounding_box() for station in stations.all()]
        assert all(box["x"] >= 0 and box["x"] + box["width"] <= width for box in boxes), width
        assert len({box["y"] for box in boxes}) == lines, width


def test_nothing_stands_in_the_way_of_anybody(cast, three_findings, a_question, browse_faultless):
    said(cast.child, cast.guardian, HEIGHTS)
    for days_ago, height in ((182, 140), (0, 145)):
        cast.child.growth_measurements.create(
            on=EVENING.date() - dt.timedelta(days=days_ago), height=height
        )
    child = cast.child.public_id
    session = cast.child.assigned.first().public_id
    asks, grows = f"/family/{child}/{session}/ask/", f"/children/{child}/growth/"
    coach, parent = browse_faultless(cast.coach), browse_faultless(cast.guardian)
    own = [(coach, path) for path in ("/review/", "/review/came-back/", f"/review/{child}/", grows)]
    for page, path in [*own, (parent, asks), (parent, grows)]:
        page.goto(path)
        for details in page.locator("details").all():
            details.evaluate("element => { element.open = true }")
        for screen in on_each(page, (DESK, PHONE)):
            found = Axe().run(page)
            assert found.violations_count == 0, f"{path}, {screen}\n{found.generate_report()}"
            spill = page.evaluate("document.documentElement.scrollWidth - innerWidth")
            assert spill <= 0, f"{path} is {spill} px too wide, {screen}"


def test_attendance_on_a_phone_is_read_without_scrolling_sideways(browse_faultless, cast, evening):
    for days, absence in ((9, ""), (7, "sick"), (5, "no_word")):
        session = assign(cast.child, EVENING.date() - dt.timedelta(days=days))
        state = "not" if absence else "done"
        CompletionFactory(assigned_session=session, state=state, absence=absence, logged_at=EVENING)
    page = browse_faultless(cast.coach, PHONE)
    page.goto("/review/attendance/")
    child = page.get_by_role("row").filter(has_text="Mira T.")
    expect(child).to_be_visible()
    numbers = page.get_by_role("region", name="in numbers")
    assert numbers.evaluate("box => box.scrollWidth <= box.clientWidth")
    # What there was none of takes no room; what there was has its word.
    assert child.locator("td:visible").count() == 3
    words = child.locator("td:visible").evaluate_all(
        "cells => cells.map(cell => cell.textContent + getComputedStyle(cell, '::after').content)"
    )
    assert words == ['1 of 2" done"', '1" absent, no notice"', '1" sick"']


def test_a_childs_page_on_paper_holds_its_numbers_and_fits_the_sheet(
    browse_faultless, cast, evening
):
    squats = pathway_of_three()
    put(cast.child, squats.pathway, squats.sit, cast.coach)
    page = browse_faultless(cast.coach)
    page.goto(f"/review/{cast.child.public_id}/")
    who = page.get_by_role("listitem").filter(has_text="Owning Coach")
    expect(who).to_be_hidden()
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 718, "height": 1000})  # A4 between margins of a centimetre
    expect(who).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == 718
    expect(page.get_by_role("banner")).to_be_hidden()
