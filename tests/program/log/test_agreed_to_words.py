"""Words about health: beside what hurts and beside what is spared, where the family agrees to them.
Where it hurts, how much and what is spared is said in any case."""

import uuid

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.consent_texts import WORDS_NOT_KEPT
from athletes.models import ConsentPurpose, Restriction
from program.log.pain_reports import Reporting, report_pain
from program.models import PainReport, Submission
from tests.support.consents import said
from tests.support.family import WEDNESDAY, assign, give
from tests.support.markup import fields_of
from tests.support.pain import ORIGIN, knee

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]

WORDS = [ConsentPurpose.HEALTH_NOTES]
KNEE = {"hurt": "yes", "hurt_region": "knee", "hurt_side": "left", "hurt_level": "4"}
SPARE = {
    "region": "knee",
    "side": "left",
    "kind": "no_landing",
    "start": WEDNESDAY.isoformat(),
    "until": WEDNESDAY.isoformat(),
    "note": "The physio said so.",
}


@pytest.fixture
def session(cast):
    session = assign(cast.child)
    give(session, "Backpack row")
    return session


@pytest.fixture(params=[True, False], ids=["agreed", "not agreed"])
def agrees(request, cast):
    said(cast.child, cast.guardian, WORDS, given=request.param)
    return request.param


def test_the_report_is_written_and_its_words_only_where_they_are_agreed_to(
    cast, session, client_for, agrees
):
    log = reverse("program:log", args=[cast.child.public_id, session.public_id])
    group = reverse("program:group_log", args=[session.session_id])
    for person, page in ((cast.guardian, log), (cast.coach, group)):
        drawn = client_for(person).get(page).content.decode()
        assert ("hurt_note" in drawn) is agrees
        assert "hurt_region" in drawn
    client_for(cast.guardian).post(log, KNEE | {"state": "done", "hurt_note": "On a stair."})
    report = PainReport.objects.get()
    assert (report.region, report.level, report.spares) == ("knee", 4, True)
    assert report.note == ("On a stair." if agrees else "")


def test_words_of_a_page_that_was_open_before_a_no_are_not_dropped_without_a_word(
    cast, session, client_for, agrees
):
    child = cast.child.public_id
    log = reverse("program:log", args=[child, session.public_id])
    group = reverse("program:group_log", args=[session.session_id])
    spare = reverse("athletes:restrictions", args=[child])
    words = KNEE | {"hurt_note": "On a stair."}
    line = {f"{child}-{name}": text for name, text in (words | {"presence": "there"}).items()}
    for person, page, typed in (
        (cast.guardian, log, words),
        (cast.coach, group, line),
        (cast.guardian, spare, SPARE),
    ):
        browser = client_for(person)
        sent = fields_of(browser.get(page)) | typed
        answer = browser.post(page, sent, follow=True)
        assert answer.redirect_chain, page
        assert (WORDS_NOT_KEPT in answer.content.decode()) is not agrees, page


def test_so_is_what_a_phone_sends_long_after_also_of_a_session_that_is_gone(
    cast, session, client_for, agrees
):
    sent = {
        "id": str(uuid.uuid4()),
        "kind": "pain",
        "child": str(cast.child.public_id),
        "session": str(uuid.uuid4()),
        "fields": KNEE | {"hurt_note": "On a stair."},
    }
    answer = client_for(cast.guardian).post(
        reverse("program:inbox"), sent, content_type="application/json"
    )
    assert answer.json()["state"] == "written"
    assert PainReport.objects.get().note == ("On a stair." if agrees else "")


def test_nor_are_they_kept_with_a_log_that_could_not_be_written(cast, session, client_for, agrees):
    """A log of a session that is gone is kept as it came."""
    sent = {
        "id": str(uuid.uuid4()),
        "kind": "log",
        "child": str(cast.child.public_id),
        "session": str(uuid.uuid4()),
        "fields": KNEE | {"state": "done", "hurt_note": "On a stair."},
    }
    inbox = reverse("program:inbox")
    client_for(cast.guardian).post(inbox, sent, content_type="application/json")
    assert ("hurt_note" in Submission.objects.get().payload) is agrees


def test_what_is_spared_is_spared_with_words_or_without(cast, client_for, agrees):
    page = reverse("athletes:restrictions", args=[cast.child.public_id])
    for person in (cast.guardian, cast.coach):
        assert ('name="note"' in client_for(person).get(page).content.decode()) is agrees
    client_for(cast.guardian).post(page, SPARE)
    rule = Restriction.objects.get()
    assert (rule.region, rule.kind) == ("knee", "no_landing")
    assert rule.note == (SPARE["note"] if agrees else "")


def test_what_was_written_under_a_yes_stays_when_the_report_is_sent_again(cast):
    pain = knee(note="On a stair.")
    reporting = Reporting(cast.guardian, timezone.now(), ORIGIN)
    first = report_pain(cast.child, pain, reporting)
    said(cast.child, cast.guardian, WORDS, given=False)
    again = report_pain(cast.child, pain, reporting)
    assert (again.pk, again.note) == (first.pk, "On a stair.")
