"""A parent with a phone, and then the coach: what is logged at home is seen at the desk."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from program.models import Completion, PainReport
from tests.support.consents import said
from tests.support.factories import AssignedSlotFactory, ChildFactory, ExerciseFactory
from tests.support.family import EVENING, assign, give
from tests.support.following import tap
from tests.support.interactions import Counted
from tests.support.screens import DESK, PHONE, SMALLEST, WITH_A_WORKER, on_each

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("evening"),
]


@pytest.fixture
def session(cast):
    session = assign(cast.child, seconds=1320)
    give(session, "Skip on the spot", revision__measure="seconds", revision__tempo="", amount=15)
    easier = give(assign(cast.other_child), "Step down from a book").revision
    give(
        session,
        "Slow step down",
        part=1,
        rounds=3,
        revision__sides="each",
        revision__watch=True,
        easier_revision=easier,
        easier_amount=6,
        revision__needs=[("a solid step, shin height", ["low-step", "stairs"])],
    )
    return session


def choose(page, question, answer):
    page.get_by_role("group", name=question).get_by_text(answer, exact=True).click()


def test_a_parent_says_what_sport_there_is_elsewhere_and_then_that_this_week_differs(
    cast, browse_faultless
):
    page = browse_faultless(cast.guardian, {"width": 360, "height": 740}, has_touch=True)
    page.goto("/")
    answering = Counted(page)
    answering.follow(page.get_by_role("link", name="Fill it in"))
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert Axe().run(page).response["violations"] == []
    club = page.get_by_role("group", name="Club training")
    for day in ("Mon", "Wed"):
        answering.click(club.get_by_text(day))
    page.get_by_role("group", name="Matches").get_by_label("Sat").focus()
    answering.press("Space")
    answering.type(page.get_by_label("Hours a week"), "7.5")
    answering.follow(page.get_by_role("button", name="Save"))
    assert answering.count == 6
    expect(page.get_by_text("Usually 7.5 hours a week, on Mon, Wed and Sat.")).to_be_visible()
    page.goto("/")
    assert Axe().run(page).response["violations"] == []
    for words in ("none", "as usual"):
        changing = Counted(page)
        changing.follow(page.get_by_role("button", name=words))
        assert changing.count == 1
        expect(page.get_by_role("button", name=words, pressed=True)).to_be_visible()


def test_a_parent_logs_effort_and_pain_on_a_phone_and_the_coach_sees_both(
    cast, session, browse_faultless
):
    parent = browse_faultless(cast.guardian, PHONE, has_touch=True, is_mobile=True, **WITH_A_WORKER)
    parent.goto("/")
    expect(parent.get_by_role("heading", name="Strong steps")).to_be_visible()
    parent.get_by_role("link", name="Log it").click()
    expect(parent.get_by_text("Then stop here.")).to_be_hidden()
    choose(parent, "How hard was it?", "getting warm")
    choose(parent, "Did something hurt, or were you not well?", "yes")
    expect(parent.get_by_text("Then stop here.")).to_be_visible()
    parent.get_by_label("Where, or what?").select_option(label="knee")
    choose(parent, "Which side?", "left")
    choose(parent, "How much?", "4")
    parent.get_by_label("On which exercise?").select_option(label="Slow step down")
    parent.get_by_role("button", name="Save the log").click()
    expect(parent.get_by_text("The coach is told what hurt.")).to_be_visible()
    expect(parent.get_by_text("Logged: done, effort 4 of 10, 22 minutes.")).to_be_visible()
    expect(parent.get_by_text("Left knee, 4 of 10.")).to_be_visible()

    coach = browse_faultless(cast.coach)
    coach.goto(reverse("program:review"))
    hurt = coach.get_by_role("heading", name="Left knee, 4 of 10, on Slow step down")
    expect(hurt).to_be_visible()
    coach.get_by_text("Seen, no change …").click()
    coach.get_by_label("Why, in a few words").locator("visible=true").fill("Only tired, says Mira")
    coach.get_by_role("button", name="Seen, no change").click()
    expect(hurt).to_have_count(0)
    coach.get_by_role("link", name="What came back").click()
    expect(coach.get_by_text("Effort 4 of 10 (getting warm), 22 min.")).to_be_visible()
    assert PainReport.objects.get().answered_by == cast.coach


def test_a_coach_who_is_a_parent_does_the_childs_session_and_goes_back_to_coaching(
    cast, session, browse_faultless
):
    cast.child.guardianships.create(guardian=cast.other_coach)
    said(cast.child, cast.other_coach)
    coach = browse_faultless(cast.other_coach, PHONE)
    coach.goto("/")
    expect(coach.get_by_role("heading", name="This week")).to_be_visible()
    go = Counted(coach)
    go.follow(coach.get_by_role("link", name="My family"))
    go.follow(coach.get_by_role("link", name="Start"))
    for name in ("Start", "Pause", "End here and log it"):
        tap(coach, name)
    coach.get_by_text("some of it", exact=True).locator("visible=true").click()
    coach.locator(".pick-effort").get_by_text("getting warm").click()
    tap(coach, "Save the log")
    expect(coach.locator("[data-saved]")).to_contain_text("Logged.")
    go.follow(coach.get_by_role("link", name="Back to Mira’s day").locator("visible=true"))
    expect(coach.get_by_text("effort 4 of 10")).to_be_visible()
    go.follow(coach.get_by_role("link", name="Coaching"))
    expect(coach.get_by_role("heading", name="This week")).to_be_visible()
    assert Completion.objects.get(assigned_session=session).logged_by == cast.other_coach


def test_back_after_the_log_shows_what_was_logged_and_saving_again_changes_it(
    cast, session, browse_faultless
):
    parent = browse_faultless(cast.guardian, PHONE)
    parent.goto(reverse("program:log", args=[cast.child.public_id, session.public_id]))
    choose(parent, "How hard was it?", "getting warm")
    parent.get_by_role("button", name="Save the log").click()
    expect(parent.get_by_text("Logged: done, effort 4 of 10")).to_be_visible()
    parent.go_back()
    expect(parent.get_by_text("Saving changes it, and shows that you did.")).to_be_visible()
    choose(parent, "How hard was it?", "very hard")
    parent.get_by_role("button", name="Save the log").click()
    expect(parent.get_by_text("Logged: done, effort 8 of 10")).to_be_visible()
    assert Completion.objects.get().edited_by == cast.guardian


def test_a_session_is_logged_with_the_keyboard_alone(cast, session, browse_faultless):
    page = browse_faultless(cast.guardian, PHONE)
    page.goto("/")

    def tab_to(name):
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.name") == name:
                return
        pytest.fail(f"{name} is not reached with the Tab key")

    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == "Log it":
            break
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Mira’s log")).to_be_visible()
    tab_to("state")
    page.keyboard.press("ArrowRight")  # some of it
    tab_to("effort")
    for _ in range(8):  # from "rather not say" round to 0, then up to 7
        page.keyboard.press("ArrowRight")
    tab_to("hurt")
    page.keyboard.press("ArrowRight")  # yes
    tab_to("hurt_region")
    page.keyboard.type("ank")
    tab_to("hurt_side")
    page.keyboard.press("ArrowRight")  # right
    tab_to("hurt_level")
    page.keyboard.press("Space")  # 1
    tab_to("minutes")
    page.keyboard.press("Control+a")
    page.keyboard.type("19")
    page.keyboard.press("Enter")
    expect(page.get_by_text("Logged for Mira.")).to_be_visible()
    log, report = Completion.objects.get(), PainReport.objects.get()
    assert (log.state, log.effort, log.minutes) == ("some", 7, 19)
    assert (report.region, report.side, report.level) == ("ankle", "right", 1)


def test_the_focus_is_seen_on_every_answer(cast, session, browse_faultless):
    page = browse_faultless(cast.guardian, PHONE)
    page.goto(reverse("program:log", args=[cast.child.public_id, session.public_id]))
    for name in ("state", "effort", "enjoyment"):
        page.locator(f"[name={name}]").first.focus()
        page.keyboard.press("ArrowRight")
        width = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert width == "3px", name


def test_what_was_not_done_is_not_asked_how_hard_it_was(cast, session, browse_faultless):
    page = browse_faultless(cast.guardian, PHONE)
    page.goto(reverse("program:log", args=[cast.child.public_id, session.public_id]))
    effort = page.get_by_role("group", name="How hard was it?")
    expect(effort).to_be_visible()
    choose(page, "How did it go?", "not done")
    expect(effort).to_be_hidden()
    expect(
        page.get_by_role("group", name="Did something hurt, or were you not well?")
    ).to_be_visible()


def test_all_of_it_works_without_javascript(cast, session, browse_faultless):
    page = browse_faultless(cast.guardian, PHONE, java_script_enabled=False)
    page.goto("/")
    page.get_by_role("link", name="Read it first").click()
    expect(page.get_by_role("heading", name="Slow step down")).to_be_visible()
    page.get_by_text("Too hard today?").click()
    expect(page.get_by_text("Too hard today? Step down from a book")).to_be_visible()
    page.get_by_role("link", name="Log it").click()
    page.get_by_text("Exercise by exercise, if you like").click()
    slow = page.get_by_role("group", name="Slow step down 8 each side")
    slow.get_by_label("Left").fill("8")
    slow.get_by_label("Right").fill("70")
    page.get_by_role("button", name="Save the log").click()
    expect(page.get_by_text("Write the repetitions of one round: 0 to 60.")).to_be_visible()
    expect(slow.get_by_label("Left")).to_have_value("8")
    slow.get_by_label("Right").fill("6")
    page.get_by_role("button", name="Save the log").click()
    expect(page.get_by_text("Logged for Mira.")).to_be_visible()
    result = Completion.objects.get().results.get()
    assert (result.amount_left, result.amount_right, result.state) == (8, 6, "some")


def test_the_sheet_for_paper_can_be_looked_at_on_the_smallest_phone(
    cast, session, browse_faultless
):
    drawn = ExerciseFactory(slug="reverse-lunge", revision__sides="each").current
    AssignedSlotFactory(assigned_session=session, position=1, revision=drawn, rounds=3)
    page = browse_faultless(cast.guardian, SMALLEST)
    page.goto(reverse("program:sheet", args=[cast.child.public_id, session.public_id]))
    assert page.evaluate("document.documentElement.scrollWidth") <= SMALLEST["width"]


def addresses(child, session) -> list[str]:
    ids = [child.public_id, session.public_id]
    return [
        reverse("program:family"),
        reverse("program:child_day", args=[child.public_id]),
        reverse("program:child_day", args=[child.public_id]) + "?day=2026-11-05",
        reverse("program:read", args=ids),
        reverse("program:log", args=ids),
        reverse("program:invite_guardian", args=[child.public_id]),
    ]


def test_nothing_stands_in_the_way_of_anybody(cast, session, browse_faultless):
    ChildFactory(given_name="Nils", cohort=cast.cohort, guardian=cast.guardian)
    session.pain_reports.create(
        child=cast.child, region="knee", side="left", level=4, reported_at=EVENING
    )
    family, coach = browse_faultless(cast.guardian, SMALLEST), browse_faultless(cast.coach)
    reviewed = [
        reverse("program:review"),
        reverse("program:came_back"),
        reverse("program:child_review", args=[cast.child.public_id]),
    ]
    seen = [(family, path, SMALLEST) for path in addresses(cast.child, session)]
    seen += [(coach, path, DESK) for path in reviewed]
    for page, path, size in seen:
        page.goto(path)
        for screen in on_each(page, (size,)):
            found = Axe().run(page)
            assert found.violations_count == 0, f"{path}, {screen}\n{found.generate_report()}"
            spill = page.evaluate("document.documentElement.scrollWidth - innerWidth")
            assert spill <= 0, f"{path} is {spill} px too wide, {screen}"
