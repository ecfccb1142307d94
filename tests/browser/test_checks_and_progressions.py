"""A coach meets a stop and answers it, the head coach moves a limit, and a hold grows."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from program.models import Session, Slot
from tests.support.factories import (
    BlockFactory,
    ExerciseFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.screens import PHONE

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def sessions(cast) -> list[Session]:
    """Three weeks of one session: four rounds of a landing and a hold."""
    today = timezone.localdate()
    block = BlockFactory(cohort=cast.cohort, starts_on=today, ends_on=today + dt.timedelta(days=20))
    hop = ExerciseFactory(
        revision__name="Hop and freeze", revision__pattern="land", revision__contacts=1
    )
    hold = ExerciseFactory(
        revision__name="Side hold",
        revision__pattern="side_brace",
        revision__measure="seconds",
        revision__tempo="",
        revision__low=5,
        revision__usual=10,
        revision__high=20,
    )
    made = []
    for week in range(3):
        session = SessionFactory(
            block=block, name="Quiet feet", date=today + dt.timedelta(weeks=week)
        )
        part = PartFactory(session=session, name="Hop and hold", rounds=4)
        SlotFactory(part=part, position=0, exercise=hop, amount=5)
        SlotFactory(part=part, position=1, exercise=hold, amount=10, tempo="")
        made.append(session)
    return made


def test_a_stop_wants_a_reason_a_limit_is_moved_and_a_hold_grows(cast, sessions, browse):
    first = sessions[0]
    build = reverse("program:build", args=[first.pk])

    # The checks stand in the builder, and the landing is a stop.
    coach = browse(cast.coach)
    coach.goto(build)
    panel = coach.get_by_label("What the session comes to")
    stop = "1 child meets Hop and freeze before anybody placed them on landing."
    expect(panel.get_by_text(stop)).to_be_visible()
    expect(panel.get_by_text("Hop and freeze: more than 3 sets.")).to_be_visible()

    # The head coach, on a phone, lets the program have four sets.
    head = browse(cast.head_coach, PHONE)
    head.goto(reverse("program:checks"))
    head.get_by_role("link", name="Change Sets of one exercise").click()
    head.get_by_label("At most (sets)").fill("4")
    head.get_by_label("Why").fill("Four short rounds suit our hall.")
    head.get_by_role("button", name="Save for everybody").click()
    expect(head.get_by_text("“Four short rounds suit our hall.”")).to_be_visible()
    coach.reload()
    expect(panel.get_by_text(stop)).to_be_visible()
    expect(panel.get_by_text("more than 3 sets")).to_have_count(0)

    # A hold of 10 seconds that grows by 5 up to 20, over the block.
    coach.locator(".slot", has_text="Side hold").get_by_text("rest, fit, note").click()
    coach.get_by_role("link", name="progression").click()
    expect(coach.get_by_label("Adding")).to_be_visible()
    coach.wait_for_load_state()  # nobody types before the page listens
    lane = coach.get_by_role("region", name="Side hold week by week")
    amounts = Slot.objects.filter(exercise__current__name="Side hold").order_by(
        "part__session__date"
    )
    # Each week is shown as it would be, and stays as it is until the drafts are let.
    for step, weeks in (("10", ["10", "20", "20"]), ("5", ["10", "15", "20"])):
        coach.get_by_label("Adding").fill(step)
        coach.get_by_label("Adding").press("Tab")
        expect(lane.locator(".progression-week b")).to_have_text(weeks)
    expect(coach.locator("#preview")).to_contain_text("Nothing is done yet.")
    assert len(set(amounts.values_list("amount", flat=True))) == 1
    coach.get_by_role("button", name="Change the drafts").click()
    expect(coach.locator(".messages")).to_contain_text("drafts changed")
    expect(lane.locator(".progression-week b")).to_have_text(["10", "15", "20"])
    assert list(amounts.values_list("amount", flat=True)) == [10, 15, 20]

    # Publishing asks for the reason, and keeps it beside the stop.
    coach.goto(build)
    coach.get_by_role("button", name="Publish to 1").click()
    expect(coach.get_by_role("heading", name="Before Quiet feet goes out")).to_be_visible()
    coach.get_by_role("button", name="Publish with this reason").click()
    expect(coach.get_by_text("Write the reason; it is kept and shown.")).to_be_visible()
    assert not first.assigned.exists()
    coach.get_by_label("Why it goes out nevertheless").fill("I watched every landing.")
    coach.get_by_role("button", name="Publish with this reason").click()
    expect(coach.get_by_text("Published: 1 child got it.")).to_be_visible()
    expect(panel.get_by_text("“I watched every landing.”")).to_be_visible()
