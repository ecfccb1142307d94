"""A whole session in a real browser, on a clock that the test turns."""

import datetime as dt
import itertools
import re
from collections.abc import Callable, Iterator

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from program.models import AssignedSession, Completion, PainReport, Submission
from tests.support.factories import CompletionFactory
from tests.support.family import WEDNESDAY, assign, give
from tests.support.following import LISTENING, step_and_hold, tap
from tests.support.requests import all_answered

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def session(cast) -> AssignedSession:
    return step_and_hold(cast.child, cast.other_child, WEDNESDAY)


@pytest.fixture
def follow(page: Page, context, cast, sign_in, live_server) -> Iterator[Callable[..., Page]]:
    """The page of a session, on a clock that stands until the test turns it."""
    sign_in(context, cast.guardian)
    page.clock.install(time=0)
    hours = itertools.count(1)
    page.add_init_script(LISTENING)

    def opened(session: AssignedSession | None = None) -> Page:
        session = session or AssignedSession.objects.get(child=cast.child)
        address = reverse("program:follow", args=[cast.child.public_id, session.public_id])
        page.goto(live_server.url + address)
        page.wait_for_selector(".is-live", state="attached")
        page.clock.pause_at(next(hours) * 3600)
        return page

    with all_answered(page):
        yield opened


def turn(page: Page, seconds: float) -> None:
    page.clock.run_for(int(seconds * 1000))


def said(page: Page, words: str) -> Locator:
    """Where the screen that is shown says so; others hold the same sentence for later."""
    return page.get_by_text(words).locator("visible=true")


def choose(page: Page, group: str, answer: str) -> None:
    page.get_by_role("group", name=group).get_by_text(answer, exact=True).click()


def test_a_session_runs_by_itself_speaks_and_ends_on_its_log(follow, cast, session):
    page = follow()
    tap(page, "Start")
    turn(page, 12)
    expect(page.locator("h1")).to_have_text("Slow step down")
    expect(page.locator("[data-side]")).to_have_text("left · down")
    expect(page.locator("[data-count]")).to_have_text("1")
    turn(page, 5)
    expect(page.locator("[data-count]")).to_have_text("2")
    turn(page, 100)
    expect(page.get_by_text("How hard was it?")).to_be_visible()
    spoken = page.evaluate("spoken")
    for said in ["Slow step down. 4 each side.", "Change side: right.", "three", "two", "one"]:
        assert said in spoken
    assert spoken.index("Half-way.") > spoken.index("Have a drink.")
    page.locator(".pick-effort").get_by_text("proper work").click()
    tap(page, "Save the log")
    expect(page.locator("[data-saved]")).to_contain_text("Logged.")
    log = Completion.objects.get(assigned_session=session)
    assert (log.state, log.effort, log.minutes, log.logged_by) == ("done", 5, 2, cast.guardian)
    assert log.done_on == timezone.localdate()
    sided = log.results.get(assigned_slot__revision__name="Slow step down")
    assert (sided.amount_left, sided.amount_right, sided.took_easier) == (4, 4, False)


def test_easier_is_taken_from_here_on_and_told(follow, session):
    page = follow()
    tap(page, "Start")
    turn(page, 12)
    tap(page, "Easier, please")
    expect(page.locator("h1")).to_have_text("Step down from a book")
    expect(page.get_by_role("button", name="Easier, please")).to_be_disabled()
    turn(page, 120)
    page.locator(".pick-effort").get_by_text("easy, could sing").click()
    tap(page, "Save the log")
    expect(page.locator("[data-saved]")).to_contain_text("Logged.")
    result = Completion.objects.get().results.get(took_easier=True)
    assert (result.amount_left, result.amount_right) == (3, 3)


def test_something_hurts_stops_asks_cautions_and_leaves_out_what_hurts(follow, session):
    page = follow()
    tap(page, "Start")
    turn(page, 14)
    tap(page, "Something hurts")
    turn(page, 60)
    choose(page, "Where does it hurt, or what is wrong?", "knee")
    choose(page, "Which side?", "left")
    choose(page, "How much?", "2")
    tap(page, "Tell the coach")
    expect(page.locator("[data-told]")).to_have_text("The coach is told.")
    expect(page.get_by_text("see a doctor or physiotherapist")).to_be_visible()
    report = PainReport.objects.get()
    assert (report.region, report.side, report.level) == ("knee", "left", 2)
    assert report.revision.name == "Slow step down"
    expect(page.locator("[data-verdict]")).to_contain_text("Left out from here: Slow step down.")
    tap(page, "Go on without it")
    expect(page.locator("h1")).to_have_text("Front plank")
    turn(page, 40)
    expect(page.locator("[data-did]")).to_contain_text("1 of 2 exercises")


def test_what_was_not_answered_of_what_hurts_is_asked_for_where_it_is(follow, session):
    page = follow()
    tap(page, "Start")
    turn(page, 14)
    tap(page, "Something hurts")
    expect(page.locator("h1")).to_have_text("Stopped")
    choose(page, "Where does it hurt, or what is wrong?", "knee")
    choose(page, "How much?", "2")
    tap(page, "Tell the coach")
    asked = page.get_by_role("group", name="Which side?")
    expect(asked.get_by_text("Choose one, please.")).to_be_in_viewport()
    expect(page.get_by_text("Choose one, please.").locator("visible=true")).to_have_count(1)
    choose(page, "Which side?", "left")
    tap(page, "Tell the coach")
    expect(page.locator("[data-told]")).to_have_text("The coach is told.")


@pytest.mark.parametrize(("where", "level"), [("knee", "6"), ("head or neck", "1")])
def test_much_pain_or_a_sore_head_ends_the_session(follow, session, where, level):
    page = follow()
    tap(page, "Start")
    turn(page, 14)
    tap(page, "Something hurts")
    choose(page, "Where does it hurt, or what is wrong?", where)
    choose(page, "Which side?", "right")
    choose(page, "How much?", level)
    tap(page, "Tell the coach")
    expect(page.locator("[data-verdict]")).to_contain_text("enough for today")
    expect(page.locator("[data-do=without]")).to_be_hidden()


def come_back_after_pain(follow, level: str) -> Page:
    """The knee hurts on the slow step down, the coach is told, the tab is killed and reopened."""
    page = follow()
    tap(page, "Start")
    turn(page, 22)
    say_the_knee_hurts(page, level)
    expect(page.locator("[data-told]")).to_have_text("The coach is told.")
    page.goto("about:blank")
    return follow()


def test_a_tab_killed_after_much_pain_comes_back_ended(follow, session):
    page = come_back_after_pain(follow, level="7")
    expect(page.locator("[data-screen=finished]")).to_be_visible()
    expect(page.locator("[data-do=start]").locator("visible=true")).to_have_count(0)
    # The day after, its log is still one of the day on which it was done.
    yesterday = timezone.localdate() - dt.timedelta(days=1)
    page.add_init_script(
        f"""for (const key of Object.keys(localStorage).filter((key) => /place/.test(key)))
              localStorage[key] = JSON.stringify(
                {{ ...JSON.parse(localStorage[key]), doneOn: "{yesterday}" }})"""
    )
    page.reload()
    expect(page.locator("[data-did]")).to_contain_text(f"on {yesterday:%A} {yesterday.day}")
    tap(page, "Save the log")
    expect(page.locator("[data-saved]")).to_contain_text("Logged.")
    assert Completion.objects.get().done_on == yesterday


def test_a_tab_killed_after_some_pain_goes_on_without_what_hurts(follow, session):
    page = come_back_after_pain(follow, level="2")
    expect(page.get_by_text("You were at Front plank")).to_be_visible()
    tap(page, "Go on from there")
    expect(page.locator("h1")).to_have_text("Front plank")


def test_what_hurts_does_not_come_back_from_the_beginning_either(follow, session):
    page = come_back_after_pain(follow, level="2")
    tap(page, "From the beginning")
    expect(page.locator("h1")).to_have_text("Front plank")


def test_a_tab_killed_before_it_was_told_what_hurts_asks_nothing_and_stands_still(follow, session):
    page = follow()
    tap(page, "Start")
    turn(page, 22)
    tap(page, "Something hurts")
    choose(page, "Where does it hurt, or what is wrong?", "knee")
    page.goto("about:blank")
    follow()
    expect(page.get_by_text("You were at Slow step down")).to_be_visible()
    tap(page, "Something hurts")
    assert page.locator("[name=hurt_region]:checked").count() == 0


AWAY = """() => {
  Object.defineProperty(document, 'hidden', { value: true });
  document.dispatchEvent(new Event('visibilitychange'));
}"""
"""What a call, a locked screen and another app look like to a page."""


def test_a_call_stops_the_session_at_this_second(follow, session):
    page = follow()
    tap(page, "Start")
    turn(page, 22)
    left = page.locator("[data-left]").inner_text()
    page.evaluate(AWAY)
    expect(said(page, "waited at this second while you were away")).to_be_visible()
    turn(page, 60)
    tap(page, "Go on")
    expect(page.locator("[data-left]")).to_have_text(left)


WATCHED = """
  globalThis.awake = [];
  Object.defineProperty(navigator, "wakeLock", { value: { request: async () => {
    awake.push("on");
    return { release: async () => { awake.push("off"); } };
  } } });
"""


def test_the_screen_is_kept_awake_while_it_runs_and_no_longer(follow, page, session):
    page.add_init_script(WATCHED)
    follow()
    tap(page, "Start")
    page.wait_for_function("awake.join() === 'on'")
    tap(page, "Pause")
    page.wait_for_function("awake.join() === 'on,off'")
    tap(page, "Go on")
    page.wait_for_function("awake.join() === 'on,off,on'")


def test_a_killed_tab_comes_back_to_the_same_second(follow, session):
    page = follow()
    tap(page, "Start")
    turn(page, 22)
    left = page.locator("[data-left]").inner_text()
    page.goto("about:blank")
    follow()
    expect(page.get_by_text(f"You were at Slow step down, with {left}")).to_be_visible()
    tap(page, "Go on from there")
    expect(page.locator("[data-left]")).to_have_text(left)
    expect(page.locator("[data-count]")).to_have_text("3")


def test_a_session_published_anew_since_begins_anew_and_says_so(follow, session):
    page = follow()
    tap(page, "Start")
    turn(page, 22)
    page.goto("about:blank")
    AssignedSession.objects.filter(pk=session.pk).update(fingerprint="another")
    follow()
    expect(page.get_by_text("The coach has changed this session").first).to_be_visible()
    tap(page, "Start")
    expect(page.locator("[data-count]")).to_have_text("10")


def test_a_full_phone_says_so_and_the_session_goes_on(follow, session):
    page = follow()
    page.evaluate(
        """() => { Storage.prototype.setItem = () => {
             throw new DOMException('full', 'QuotaExceededError') } }"""
    )
    tap(page, "Start")
    turn(page, 12)
    tap(page, "Pause")
    expect(said(page, "no room left to keep the place")).to_be_visible()
    tap(page, "Go on")
    expect(page.locator("[data-side]")).to_contain_text("left")


def test_a_phone_that_slept_for_two_hours_stands_where_it_fell_asleep(follow, session):
    page = follow()
    tap(page, "Start")
    turn(page, 22)
    left = page.locator("[data-left]").inner_text()
    page.clock.fast_forward("02:00:00")
    expect(said(page, "The phone slept, so the session waited")).to_be_visible()
    tap(page, "Go on")
    expect(page.locator("[data-left]")).to_have_text(left)


NO_QUEUE = """() => { IDBObjectStore.prototype.put = () => {
  throw new DOMException('full', 'QuotaExceededError');
} }"""


def test_what_a_full_phone_cannot_queue_is_sent_straight_or_said_not_to_be(
    follow, context, session
):
    page = follow()
    page.evaluate(NO_QUEUE)
    tap(page, "Start")
    context.set_offline(True)
    turn(page, 22)
    tap(page, "Something hurts")
    for group, answer in [("Where", "shoulder"), ("Which side", "left"), ("How much", "2")]:
        choose(page, group, answer)
    tap(page, "Tell the coach")
    expect(page.locator("[data-told]")).to_contain_text("Tell the coach yourself, please.")
    assert not PainReport.objects.exists()
    tap(page, "End here and log it")
    page.locator(".pick-effort").get_by_text("proper work").click()
    tap(page, "Save the log")
    expect(said(page, "Leave this page open, and save it again")).to_be_visible()
    context.set_offline(False)
    tap(page, "Save the log")
    expect(page.locator("[data-saved]")).to_contain_text("Logged.")
    assert Completion.objects.get().effort == 5


def test_a_session_published_anew_while_it_is_done_goes_on_and_its_log_waits_to_be_looked_at(
    follow, context, session
):
    page = follow()
    context.set_offline(True)
    tap(page, "Start")
    turn(page, 22)
    AssignedSession.objects.filter(pk=session.pk).update(fingerprint="another", name="Longer")
    turn(page, 100)
    page.locator(".pick-effort").get_by_text("proper work").click()
    tap(page, "Save the log")
    context.set_offline(False)
    expect(page.locator("[data-waiting]")).to_contain_text("The coach changed this session")
    assert not Completion.objects.exists()
    assert Submission.objects.undecided().get().payload["effort"] == "5"


def say_the_knee_hurts(page: Page, level: str = "2") -> None:
    tap(page, "Something hurts")
    for group, answer in [("Where", "knee"), ("Which side", "left"), ("How much", level)]:
        choose(page, group, answer)
    tap(page, "Tell the coach")


def test_what_the_server_does_not_take_is_never_called_told(follow, cast, session):
    page = follow()
    tap(page, "Start")
    turn(page, 14)
    cast.child.guardians.remove(cast.guardian)  # the child was withdrawn meanwhile
    say_the_knee_hurts(page)
    expect(page.locator("[data-told]")).to_contain_text("Tell the coach yourself, please.")
    expect(page.locator("[data-waiting]")).to_contain_text("It is still on this phone")
    assert not PainReport.objects.exists()


def test_a_session_taken_out_while_it_is_done_still_tells_of_pain_and_keeps_its_log(
    follow, cast, session
):
    page = follow()
    with page.expect_response("**/inbox/"):  # that it was started is written before it goes
        tap(page, "Start")
    turn(page, 22)
    session.delete()
    say_the_knee_hurts(page)
    expect(page.locator("[data-told]")).to_have_text("The coach is told.")
    assert PainReport.objects.get().child == cast.child
    tap(page, "End here and log it")
    page.locator(".pick-effort").get_by_text("proper work").click()
    tap(page, "Save the log")
    expect(page.locator("[data-saved]")).to_contain_text("Not written down yet")
    expect(page.locator("[data-waiting]")).to_contain_text("taken this session out of the plan")
    assert Submission.objects.get(kind="log").payload["effort"] == "5"


def test_a_log_that_meets_another_is_not_called_logged_and_leads_to_both(follow, cast, session):
    page = follow()
    tap(page, "Start")
    turn(page, 130)
    CompletionFactory(
        assigned_session=session,
        state="some",
        effort=9,
        logged_at=timezone.now(),
        logged_by=cast.guardian,  # in another tab
    )
    page.locator(".pick-effort").get_by_text("proper work").click()
    tap(page, "Save the log")
    expect(page.locator("[data-saved]")).to_contain_text("Not written down yet")
    waiting = page.locator("[data-waiting]")
    expect(waiting).to_contain_text("You have logged this session already: some of it, effort 9")
    expect(waiting).not_to_contain_text("Saving now")
    waiting.get_by_role("link", name="Look at both and choose").click()
    expect(page.get_by_role("heading", name="Which log is right?")).to_be_visible()
    assert Completion.objects.get().effort == 9


def test_the_keyboard_does_it_all(follow, session):
    page = follow()
    page.keyboard.press("Space")
    turn(page, 12)
    page.keyboard.press("ArrowRight")
    expect(page.locator("[data-side]")).to_contain_text("change side")
    page.keyboard.press("ArrowLeft")
    expect(page.locator("[data-side]")).to_contain_text("left")
    page.keyboard.press("e")
    expect(page.locator("h1")).to_have_text("Step down from a book")
    page.keyboard.press("Space")
    expect(page.get_by_role("button", name="Go on")).to_be_focused()
    page.keyboard.press("h")
    expect(page.get_by_text("Where does it hurt, or what is wrong?")).to_be_visible()


def test_tap_when_done_waits_and_is_remembered(follow, session):
    page = follow()
    page.get_by_text("Sound and counting").click()
    choose(page, "Repetitions", "tap when done")
    tap(page, "Start")
    turn(page, 80)
    expect(page.locator("[data-side]")).to_have_text("left · 4 each side")
    tap(page, "Done")
    expect(page.locator("[data-side]")).to_contain_text("change side")
    page.goto("about:blank")
    follow()
    assert page.locator("[name=pace][value=tap]").is_checked()


def test_a_screen_reader_hears_steps_and_not_seconds(follow, session):
    page = follow()
    page.evaluate("""() => {
      globalThis.heard = 0;
      const told = { childList: true, characterData: true, subtree: true };
      new MutationObserver(() => heard++).observe(document.querySelector('[data-spoken]'), told);
    }""")
    tap(page, "Start")
    turn(page, 50)
    assert page.evaluate("heard") == 4  # ready, left, change, right


SIZES = [(360, 640), (390, 844), (820, 1180), (844, 390), (1180, 820)]


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_the_number_is_a_third_of_the_short_side_and_nothing_is_cut_off(
    follow, session, width, height
):
    follow_page = follow()
    follow_page.set_viewport_size({"width": width, "height": height})
    tap(follow_page, "Start")
    turn(follow_page, 1)
    follow_page.evaluate("document.fonts.ready")
    number = follow_page.evaluate("""() => {
      const pen = document.createElement('canvas').getContext('2d');
      const { fontSize, fontFamily } = getComputedStyle(document.querySelector('[data-count]'));
      pen.font = `800 ${fontSize} ${fontFamily}`;
      return pen.measureText('8').actualBoundingBoxAscent; }""")
    assert number >= min(width, height) / 3
    room = (
        "(({ scrollWidth, scrollHeight }) => [scrollWidth, scrollHeight])(document.documentElement)"
    )
    assert follow_page.evaluate(room) == [width, height]
    for name in ["Pause", "Easier, please", "Something hurts", "Back", "Skip"]:
        box = follow_page.get_by_role("button", name=name).locator("visible=true").bounding_box()
        assert box["height"] >= 44
        assert box["y"] + box["height"] <= height
    assert re.fullmatch(r"\d+", follow_page.locator("[data-count]").inner_text())


@pytest.mark.parametrize(("width", "height"), [(390, 844), (844, 390)])
def test_text_twice_as_large_leaves_every_key_on_the_screen(follow, session, width, height):
    page = follow()
    page.set_viewport_size({"width": width, "height": height})
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    tap(page, "Start")
    turn(page, 1)
    for name in ["Pause", "Easier, please", "Something hurts", "Back", "Skip"]:
        box = page.get_by_role("button", name=name).locator("visible=true").bounding_box()
        assert box["height"] >= 44
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width
        assert box["y"] + box["height"] <= height, name


@pytest.fixture
def watched(cast) -> AssignedSession:
    """A hold of 20 and a watched row that is set up in 90, with a note and a caution."""
    session = assign(cast.child, WEDNESDAY)
    hold = {"revision__measure": "seconds", "revision__tempo": "", "revision__moves": []}
    give(session, "Front plank", rounds=1, amount=20, **hold)
    give(
        session,
        "Towel row",
        part=1,
        rounds=2,
        amount=4,
        note="Slow ones, Mira.",
        revision__watch=True,
        revision__setup="Knot a bath towel and shut the knot behind the door.",
        revision__setup_seconds=90,
        revision__needs=[("a towel", ["towel"]), ("a solid door", ["doorway"])],
        revision__caution="Test the knot with a hard pull first.",
    )
    return session


def minded(page: Page, words: str) -> Locator:
    """What is shown of an exercise beside its number."""
    return page.locator("[data-mind]").get_by_text(words).locator("visible=true")


def test_a_watched_exercise_waits_for_a_grown_up_without_a_connection(follow, context, watched):
    page = follow(watched)
    tap(page, "Start")
    context.set_offline(True)
    turn(page, 10 + 20 + 20 + 1)  # ready, plank, drink
    expect(page.locator("h1")).to_have_text("Towel row")
    expect(page.locator("[data-side]")).to_have_text("Wait for a grown-up.")
    to_mind = ["Set up: a towel; a solid door.", "Knot a bath towel", "Test the knot", "Slow ones"]
    for words in to_mind:
        expect(minded(page, words)).to_be_visible()
    assert "Towel row. Set up: a towel; a solid door." in page.evaluate("spoken.at(-1)")
    page.clock.fast_forward("01:00:00")
    turn(page, 30)
    expect(page.locator("[data-side]")).to_have_text("Wait for a grown-up.")
    tap(page, "A grown-up is here")
    expect(page.locator("[data-side]")).to_contain_text("get ready")
    expect(page.locator("[data-count]")).to_have_text("10")
    turn(page, 12)
    expect(page.locator("[data-side]")).to_contain_text("down")
    for words in ["Test the knot", "Slow ones, Mira."]:  # at the work too
        expect(minded(page, words)).to_be_visible()
    expect(minded(page, "Knot a bath towel")).to_have_count(0)
    turn(page, 20 + 30 + 20)  # the rest between its rounds asks for nobody anew
    expect(page.locator("[data-did]")).to_contain_text("2 of 2 exercises")
    # 30 s of ready and plank, 20 of drink, 90 for setting up, 10 and 70 of rows: not the hour
    expect(page.locator("[data-did]")).to_contain_text("4 minutes")


def test_what_nobody_comes_for_is_gone_on_without_and_logged_as_not_done(follow, watched):
    page = follow(watched)
    tap(page, "Start")
    turn(page, 51)
    tap(page, "Go on without it")
    expect(page.locator("[data-did]")).to_contain_text("1 of 2 exercises")
    page.locator(".pick-effort").get_by_text("proper work").click()
    tap(page, "Save the log")
    expect(page.locator("[data-saved]")).to_contain_text("Logged.")
    results = Completion.objects.get().results
    assert results.get(assigned_slot__revision__name="Towel row").state == "not"


@pytest.mark.parametrize(("width", "height"), [(360, 640), (390, 844), (844, 390)])
def test_who_waits_finds_the_words_and_every_key_on_the_screen(follow, watched, width, height):
    page = follow(watched)
    page.set_viewport_size({"width": width, "height": height})
    tap(page, "Start")
    turn(page, 51)
    names = ["A grown-up is here", "Go on without it", "Back", "Pause", "Something hurts"]
    for name in names:
        box = page.get_by_role("button", name=name).locator("visible=true").bounding_box()
        assert box["height"] >= 44, name
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width, name
        assert box["y"] + box["height"] <= height, name
    expect(minded(page, "Set up: a towel")).to_be_in_viewport(ratio=1)
    page.keyboard.press("g")
    turn(page, 12)
    expect(minded(page, "Test the knot")).to_be_in_viewport(ratio=1)
