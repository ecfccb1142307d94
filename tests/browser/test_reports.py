"""A block's reports: written with a bar that fills, read over, sent, read by the family."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from program.models import EarlierReport, Report
from program.report.writing import AT_ONCE, write_some
from tests.program.report.test_reports import NOW, had, squats
from tests.support.factories import BlockFactory, ChildFactory
from tests.support.family import EVENING
from tests.support.queue import put
from tests.support.screens import DESK, PHONE, on_each
from tests.support.work import work_off

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

__all__ = ["squats"]


@pytest.fixture
def block(cast, squats, monkeypatch):
    """Of Mira, who moved on, and twenty more: three rounds of writing."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    block = BlockFactory(cohort=cast.cohort, name="Strong feet")
    sit, squat, *_, pathway = squats
    put(cast.child, pathway, sit, cast.coach, days_ago=10)
    put(cast.child, pathway, squat, cast.coach, days_ago=-3)
    others = [ChildFactory(given_name=f"Kid{n:02}", cohort=cast.cohort) for n in range(20)]
    for child in (cast.child, *others):
        had(block, child, 0, [sit, squat], logged_by=cast.guardian, effort=4)
    return block


def test_a_blocks_reports_from_the_first_tap_to_the_familys_page(cast, block, browse, monkeypatch):
    coach = browse(cast.coach)
    coach.on("dialog", lambda dialog: dialog.accept())
    coach.goto(reverse("program:block", args=[block.pk]))
    coach.get_by_role("link", name="The end of the block").click()
    coach.get_by_role("link", name="Reports to the families").click()
    # The worker here does a round when it is told to, so that the page is seen in the middle.
    with monkeypatch.context() as idle:
        idle.setattr("tests.support.work.work_off", lambda: None)
        coach.get_by_role("button", name="Write the reports").click()
        expect(coach.get_by_role("progressbar", name="0 of 21 written")).to_be_visible()
        write_some(block, NOW, NOW.date())
        expect(coach.get_by_role("progressbar", name=f"{AT_ONCE} of 21 written")).to_be_visible()
    work_off()
    expect(coach.get_by_role("button", name="Send 21 to the families")).to_be_visible()

    coach.get_by_role("link", name="Mira T.").click()
    shown = coach.get_by_role("img", name="Squat: began with Sit to stand, works on Free squat")
    expect(shown).to_be_visible()
    coach.get_by_label("Your own words").fill("Quiet knees, every time.")
    coach.get_by_label("How steadily").fill("Mira came when she could.")
    coach.get_by_role("button", name="Save", exact=True).click()
    expect(coach.get_by_text("What was written from the logs")).to_be_visible()
    coach.goto(reverse("program:reports", args=[block.pk]))
    coach.get_by_role("button", name="Write anew what is not sent").click()
    coach.get_by_role("button", name="Send 21 to the families").dblclick()
    expect(coach.get_by_text("21 reports sent.")).to_be_visible()

    parent = browse(cast.guardian, PHONE)
    parent.goto("/")
    parent.get_by_role("link", name="Reports from the coach").click()
    parent.get_by_role("link", name="Strong feet").click()
    expect(parent.get_by_text("Quiet knees, every time.")).to_be_visible()
    expect(parent.get_by_text("Mira came when she could.")).to_be_visible()
    expect(parent.get_by_role("img", name="Squat: began with Sit to stand")).to_be_visible()
    expect(parent.get_by_text("Kid0")).to_have_count(0)

    coach.get_by_role("link", name="Mira T.").click()
    coach.get_by_role("link", name="Correct it").click()
    coach.get_by_label("How steadily").fill("Mira came every time.")
    coach.get_by_label("What you put right").fill("She never missed one.")
    coach.get_by_role("button", name="Send the correction").dblclick()
    expect(coach.get_by_text("As it was sent")).to_be_visible()
    assert EarlierReport.objects.count() == 1
    parent.reload()
    expect(parent.get_by_text("She never missed one.")).to_be_visible()
    expect(parent.get_by_text("Mira came every time.")).to_be_visible()
    expect(parent.get_by_text("Mira came when she could.")).to_have_count(0)


def test_nothing_stands_in_the_way_of_anybody(cast, block, browse):
    written = {"practised": "Squats.", "learnt": "Calm feet.", "paths": []}
    report = Report.objects.create(
        block=block, child=cast.child, written=written, generated_at=EVENING, words="He weighs 4."
    )
    sent = Report.objects.create(
        block=BlockFactory(cohort=cast.cohort),
        child=cast.child,
        written=written
        | {
            "paths": [
                {"name": "Squat", "stops": [["Sit", 0], ["Up", 1]], "began": "Sit", "here": "Up"}
            ]
        },
        generated_at=EVENING,
        sent_at=EVENING,
        corrected_at=EVENING,
        correction="One more step.",
    )
    sent.keep_as_it_stands()
    child = cast.child.public_id
    coach, parent = browse(cast.coach), browse(cast.guardian)
    for page, path in [
        (coach, reverse("program:reports", args=[block.pk])),
        (coach, reverse("program:report", args=[block.pk, report.public_id])),
        (coach, reverse("program:reports_paper", args=[block.pk])),
        (coach, reverse("program:report", args=[sent.block_id, sent.public_id])),
        (coach, reverse("program:report_correct", args=[sent.block_id, sent.public_id])),
        (parent, reverse("program:family_reports", args=[child])),
        (parent, reverse("program:family_report", args=[child, sent.public_id])),
    ]:
        page.goto(path)
        for screen in on_each(page, (DESK, PHONE)):
            found = Axe().run(page)
            assert found.violations_count == 0, f"{path}, {screen}\n{found.generate_report()}"
            assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, path


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_two_children_are_two_sheets_of_either_paper(cast, block, browse, paper):
    """With as many pathways drawn as a report may have, and words as long as they usually are."""
    stops = [[f"Exercise {n}", n] for n in range(6)]
    path = {"stops": stops, "began": "Exercise 1", "here": "Exercise 3"}
    written = dict.fromkeys(("practised", "learnt", "consistency"), "Calm feet, long back. " * 5)
    written["paths"] = [path | {"name": f"Way {n}"} for n in range(6)]
    for child in (cast.child, ChildFactory(given_name="Zoe", cohort=cast.cohort)):
        Report.objects.create(
            block=block,
            child=child,
            written=written,
            generated_at=EVENING,
            words="Well done. " * 20,
        )
    page = browse(cast.coach)
    page.goto(reverse("program:reports_paper", args=[block.pk]))
    assert page.pdf(format=paper).count(b"/Type /Page\n") == 2
