"""Two who write at the same moment take their locks in one order, so neither stops the other."""

import datetime as dt
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from library.models import Exercise
from library.revisions import Content, revise
from program.models import AssignedSession, Block, Completion, Override, Question, Session, Slot
from program.publish.deciding import remove_override
from program.publish.publishing import publish
from tests.support.deciding import set_override
from tests.support.factories import MONDAY, BlockFactory, ChildFactory
from tests.support.planning import url
from tests.support.sliding import has, pathway_of_slides, session_with
from tests.support.together import in_the_middle_of

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


@pytest.fixture
def session(cast) -> Session:
    """Published, with a heel slide that the child may do."""
    pathway_of_slides()
    has(cast.child, "smooth-floor")
    session = session_with(cast.cohort)
    publish(session, cast.coach, timezone.now())
    return session


@pytest.fixture
def slot(session) -> Slot:
    return Slot.objects.get(part__session=session)


@pytest.fixture
def two(cast, client_for):
    return client_for(cast.coach), client_for(cast.head_coach)


def board(name: str, session: Session) -> str:
    return reverse(f"program:{name}", args=[session.block_id])


def test_a_session_is_doubled_while_all_of_its_block_is_changed(monkeypatch, two, session):
    answers = in_the_middle_of(
        monkeypatch,
        "program.build.editing.duplicate_session",
        lambda: two[0].post(url("session_duplicate", session)).status_code,
        lambda: two[1].post(board("intents_follow", session)).status_code,
    )
    assert answers == [302, 302]
    assert session.block.sessions.count() == 2


def test_a_block_in_which_a_session_is_being_made_is_not_deleted_under_it(monkeypatch, two, cast):
    block = BlockFactory(cohort=cast.cohort)
    said = {"name": "New", "date": MONDAY, "place": "home", "target_minutes": 25, "note": ""}
    made, deleted = in_the_middle_of(
        monkeypatch,
        "program.blocks.views.blocks.already_done",
        lambda: two[0].post(reverse("program:session_new", args=[block.pk]), said),
        lambda: two[1].post(reverse("program:block_away", args=[block.pk]), {"written": 0}),
    )
    assert (made.status_code, deleted.status_code) == (302, 409)
    assert Block.objects.get(pk=block.pk).sessions.count() == 1


def test_one_coach_takes_a_choice_back_while_another_makes_it(monkeypatch, cast, slot):
    set_override(slot, cast.child, None, "", cast.coach, timezone.now())
    in_the_middle_of(
        monkeypatch,
        "program.publish.deciding.send_anew",
        lambda: remove_override(slot, cast.child, timezone.now()),
        lambda: set_override(slot, cast.child, None, "Rest.", cast.coach, timezone.now()),
    )
    assert Override.objects.get().note == "Rest."


def test_an_exercise_is_described_anew_while_a_coach_chooses_it(monkeypatch, cast, slot):
    slide = Exercise.objects.select_related("current").get(slug="heel-slide")
    said = Content.of(slide.current)
    said.fields["plain"] = "Slide the heel slowly."
    in_the_middle_of(
        monkeypatch,
        "library.revisions.write_revisions",
        lambda: revise(slide, said, by="Coach", base=slide.current.number),
        lambda: set_override(slot, cast.child, slide, "", cast.coach, timezone.now()),
    )
    assert Override.objects.get().exercise == slide
    slide.refresh_from_db()
    assert slide.current.plain == "Slide the heel slowly."


def test_a_question_is_answered_while_its_session_is_published_anew(
    monkeypatch, two, cast, session, slot
):
    out = Exercise.objects.get(slug="heel-walk-out")
    question = Question.objects.create(
        child=cast.child,
        assigned_session=AssignedSession.objects.get(session=session, child=cast.child),
        exercise=Exercise.objects.get(slug="heel-slide"),
        text="How?",
        asked_at=timezone.now(),
        asked_by=cast.guardian,
    )
    Slot.objects.filter(pk=slot.pk).update(amount=slot.amount + 1)
    Session.objects.update(version=2)
    page = reverse("program:question", args=[question.public_id])
    answers = in_the_middle_of(
        monkeypatch,
        "program.ask.answering.refuse_unfit",
        lambda: two[0].post(page, {"words": "Like so.", "swap": out.slug}).status_code,
        lambda: two[1].post(url("publish", session), {"version": 2}).status_code,
    )
    assert answers == [302, 302]
    assert Override.objects.get().exercise == out


def test_a_slot_that_was_taken_out_meanwhile_is_chosen_for_by_nobody(
    monkeypatch, two, cast, session, slot
):
    page = reverse("program:decision", args=[session.pk, slot.pk, cast.child.public_id])
    taken, chosen = in_the_middle_of(
        monkeypatch,
        "program.build.undoing.delete_slot",
        lambda: two[0].post(url("slot_take_out", session, slot.pk), {"version": 1}),
        lambda: two[1].post(page, {"choice": "leave-out", "note": ""}),
    )
    assert (taken.status_code, chosen.status_code) == (302, 404)
    assert not Override.objects.exists()


def test_a_week_is_published_although_one_of_its_sessions_is_taken_out_meanwhile(
    monkeypatch, two, cast, session
):
    gone = session_with(cast.cohort)
    Session.objects.filter(pk=gone.pk).update(block=session.block)
    address = reverse("program:publish_week", args=[session.block_id, 1])

    def take_out(*args):
        Session.objects.filter(pk=gone.pk).delete()
        return False

    monkeypatch.setattr("program.publish.views.sending.is_unseen", take_out)
    page = two[0].post(address, follow=True).content.decode()
    assert "somebody has taken it out meanwhile" in page


def test_what_is_logged_while_it_is_called_off_comes_before_or_after(
    monkeypatch, two, cast, client_for, session
):
    mine = AssignedSession.objects.get(session=session, child=cast.child)
    log = reverse("program:log", args=[cast.child.public_id, mine.public_id])
    family = client_for(cast.guardian)
    called_off, logged = in_the_middle_of(
        monkeypatch,
        "program.publish.calling_off.tell_of_many",
        lambda: two[0].post(url("call_off", session), {"because": "Ice."}).status_code,
        lambda: family.post(log, {"state": "done", "seen": mine.mark}),
    )
    assert called_off == 302
    assert "This session was called off" in logged.content.decode()
    assert not Completion.objects.exists()


LOCKS_ROWS = re.compile(r"FOR (NO KEY )?UPDATE")
OF_ONE_ROW = re.compile(r'"id" = \d+|LIMIT 21')  # the latter is `get` by a key of its own

BY_KEY = re.compile(r'ORDER BY ("\w+"\.)?"?(id|1)"? ASC')


def test_whoever_locks_several_rows_takes_them_in_order(two, cast, session, slot):
    ChildFactory(cohort=cast.cohort)
    with CaptureQueriesContext(connection) as asked:
        publish(session, cast.coach, timezone.now())
        two[0].post(board("intents_follow", session))
        set_override(slot, cast.child, None, "", cast.coach, timezone.now())
        copied = {"do": f"copy:{session.pk}:{session.version}:{MONDAY + dt.timedelta(days=1)}"}
        two[0].post(board("place", session), copied)
        change = session.block.changes.get()
        two[0].post(reverse("program:change_back", args=[session.block_id, change.pk]))
        two[0].post(board("reports_write", session))
        two[0].post(url("move_session", session), {"day": MONDAY + dt.timedelta(days=1)})
        two[0].post(url("call_off", session), {"because": "Ice."})
        two[0].post(url("takes_place", session))
    locks = [each["sql"] for each in asked if LOCKS_ROWS.search(each["sql"])]
    assert len(locks) > 8
    several = [sql for sql in locks if not OF_ONE_ROW.search(sql)]
    assert [sql for sql in several if not BY_KEY.search(sql)] == []
