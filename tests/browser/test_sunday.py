"""Sunday evening at the desk: a queue of twenty is answered and the week published, counted."""

import datetime as dt

import pytest
from playwright.sync_api import Page, expect

from athletes.models import Invitation
from program.models import AssignedSession, PainReport, Question, Resolution
from program.review.queue import queue_of
from tests.support.factories import BlockFactory, ChildFactory, CohortFactory
from tests.support.family import EVENING, WEDNESDAY
from tests.support.interactions import Counted
from tests.support.planning import session_of
from tests.support.queue import did, hurt, pathway_of_three, put

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

MOST = 20
"""Of the 90 of a whole Sunday; most of the rest is planning."""


@pytest.fixture
def three_cohorts(cast, evening, monkeypatch):
    """Twenty things: three children hurt, a question, six families nobody has invited, five who
    are and have not come, three ready for more and two of whom something changed; and two sessions
    written for each cohort."""
    monkeypatch.setattr("program.review.findings.consent.MEASURED_FROM", 90)
    cohorts = [cast.cohort, *(CohortFactory(coached_by=[cast.coach]) for _ in range(2))]

    def children(count, **details):
        return [ChildFactory(cohort=cohorts[n % 3], **details) for n in range(count)]

    squats = pathway_of_three()
    children(6)
    for child in children(5):
        Invitation.objects.invite(f"{child.given_name}@x.example", "guardian", cast.coach, child)
    for child in children(3, guardian=cast.guardian):
        hurt(did(child, cast.guardian, 0), cast.guardian)
    for child in children(3, guardian=cast.guardian):
        put(child, squats.pathway, squats.squat, cast.coach)
        for days_ago in (6, 3):
            did(child, cast.guardian, days_ago, [(squats.squat, {"amount": 8})], effort=3)
    for child in children(2, guardian=cast.guardian):
        child.refits.create(what="kit", at=EVENING, changed=1, waiting=0, withdrawn=0)
    Question.objects.create(
        child=cast.child, text="What can she row?", asked_at=EVENING, asked_by=cast.guardian
    )
    for cohort in cohorts:
        block = BlockFactory(cohort=cohort)
        for days in (1, 2):
            date = WEDNESDAY + dt.timedelta(days=days)
            session_of(cohort, slots=2, needing=False, block=block, date=date)
    return cohorts


def drawn_anew(page: Page) -> None:
    expect(page.locator("[data-old]")).to_have_count(0)
    expect(page.locator("[data-finding]:focus, [data-queue]:focus")).to_have_count(1)


def answer(counted: Counted, keys: str) -> None:
    counted.page.evaluate("document.querySelector('[data-queue]').dataset.old = ''")
    counted.press(keys)
    drawn_anew(counted.page)


def test_a_queue_of_twenty_is_answered_and_the_week_published(
    cast, three_cohorts, browse_faultless
):
    assert len(queue_of(cast.coach, WEDNESDAY).findings) == 20
    page = browse_faultless(cast.coach)
    page.goto("/week/")
    counted = Counted(page)
    counted.click(page.get_by_role("link", name="Review", exact=False).first)
    drawn_anew(page)
    for _ in range(3):
        expect(page.locator("[data-finding]:focus.is-stop")).to_have_count(1)
        answer(counted, "1")  # no loading for two weeks
    counted.press("a")
    counted.type(page.locator("[data-words]"), "A bag with two books.")
    answer(counted, "Control+Enter")
    while not page.get_by_role("heading", name="Nothing waits for you").count():
        answer(counted, "1")
    # Thirty seconds later: one of the groups was too quick, and is taken back and given again.
    answer(counted, "z")
    answer(counted, "1")
    expect(page.get_by_role("heading", name="Nothing waits for you")).to_be_visible()
    counted.click(page.get_by_role("link", name="This week", exact=False).first)
    counted.click(page.get_by_role("link", name="The week ahead"))
    counted.click(page.get_by_role("button", name="Publish everything that is ready"))
    expect(page.get_by_text("Published: 6 sessions.")).to_be_visible()
    print(f"A queue of twenty answered and six sessions published: {counted.count} interactions")
    assert counted.count <= MOST
    assert not PainReport.objects.unanswered().exists()
    assert Resolution.objects.standing().count() == 20
    # Whoever is spared what the session asks of the knees is named, with the way to decide.
    expect(page.get_by_text("1 child did not get it.")).to_have_count(6)
    assert AssignedSession.objects.filter(date__gt=WEDNESDAY).count() == 2 * (20 - 3)
