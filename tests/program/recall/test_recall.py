"""An exercise is taken back for everybody: at once, with a reason, and with something in its
place."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from library.models import Exercise
from program.common.addresses import address
from program.fit.who_gets_what import children_of, who_gets_what
from program.log.logbook import LogEntry, SlotEntry, mark_started, write_log
from program.models import AssignedSession, Recall, Session
from program.publish.closing import children_who_hold_what_is_forbidden
from program.publish.fitting import fit_and_check
from program.publish.publishing import publish
from program.recall.recalling import AlreadyRecalled, end_recall, recall
from tests.support.deciding import set_override
from tests.support.factories import (
    MONDAY,
    ChildFactory,
    ExerciseFactory,
    PathwayFactory,
)
from tests.support.family import text
from tests.support.sliding import session_with
from tests.support.work import work_off

pytestmark = pytest.mark.django_db
WHY = "two children twisted an ankle"


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


@pytest.fixture
def hops(cast):
    chain = [ExerciseFactory(slug=slug) for slug in ("step", "hop", "leap")]
    return PathwayFactory(slug="hops", chain=chain)


@pytest.fixture
def session(cast, hops):
    return session_with(cast.cohort, "hop")


def the(slug) -> Exercise:
    return Exercise.objects.get(slug=slug)


def take_back(cast, slug="hop", why=WHY) -> Recall:
    return recall(the(slug), why, cast.coach, timezone.now(), MONDAY)


def gets(session, child) -> list[str]:
    slots = AssignedSession.objects.filter(session=session, child=child)
    return list(slots.values_list("slots__revision__exercise__slug", flat=True))


def page(slug="hop"):
    return reverse("program:recall", args=[slug])


class TestTakingBack:
    def test_it_is_closed_at_once_and_chosen_anew_by_the_worker(self, cast, session):
        publish(session, cast.coach, timezone.now())
        take_back(cast)
        assert session.assigned.get().is_closed
        assert children_who_hold_what_is_forbidden(MONDAY) == set()
        work_off()
        assert not session.assigned.get().is_closed
        assert gets(session, cast.child) == ["step"]

    def test_where_it_is_only_the_easier_option_it_goes_too(self, cast, session):
        publish(session, cast.coach, timezone.now())
        assert session.assigned.get().slots.get().easier_revision.exercise.slug == "step"
        take_back(cast, "step")
        assert session.assigned.get().is_closed
        work_off()
        slot = session.assigned.get().slots.get()
        assert (slot.revision.exercise.slug, slot.easier_revision) == ("hop", None)

    def test_the_family_reads_why(self, cast, session, client_for):
        publish(session, cast.coach, timezone.now())
        take_back(cast)
        parent = client_for(cast.guardian)
        where = address(session.assigned.get(), cast.child)
        said = f"Hop was taken back by the coach: {WHY}"
        assert said in parent.get(where).content.decode()
        work_off()
        html = parent.get(where).content.decode()
        assert f"{said}, so it is step this time." in html

    def test_nothing_started_and_nothing_logged_is_touched(self, cast, session):
        other = ChildFactory(cohort=cast.cohort)
        publish(session, cast.coach, timezone.now())
        started = session.assigned.get(child=cast.child)
        mark_started([started], timezone.now())
        logged = session.assigned.get(child=other)
        slot = logged.slots.get()
        entry = LogEntry("done", effort=5, minutes=9, results=(SlotEntry(slot, "done", amount=5),))
        write_log(logged, entry, by=cast.coach, now=timezone.now(), seen=logged.mark)
        take_back(cast)
        work_off()
        assert gets(session, cast.child) == gets(session, other) == ["hop"]
        assert not AssignedSession.objects.exclude(closed_at=None).exists()

    def test_drafts_and_what_is_published_later_go_without_it(self, cast, session):
        take_back(cast)
        written = Session.objects.with_slots().get(pk=session.pk)
        children = children_of(written)
        fitted, words = fit_and_check(written, children)
        (row,) = who_gets_what(fitted, words, children, cast.head_coach).rows
        assert (row.cells[0].exercise, row.cells[0].why[0]) == (
            "Step",
            f"hop was taken back: {WHY}: step instead",
        )
        publish(session, cast.coach, timezone.now())
        assert gets(session, cast.child) == ["step"]

    def test_a_coachs_own_choice_of_it_is_put_to_the_coach_again(self, cast, session):
        slot = session.parts.get().slots.get()
        set_override(slot, cast.child, the("leap"), "", cast.coach, timezone.now())
        publish(session, cast.coach, timezone.now())
        take_back(cast, "leap")
        work_off()
        assert not session.assigned.exists()

    def test_a_retired_one_that_is_recalled_goes_too(self, cast, session):
        publish(session, cast.coach, timezone.now())
        Exercise.objects.filter(slug="hop").update(status="retired")
        take_back(cast)
        assert session.assigned.get().is_closed

    def test_what_was_for_days_past_stays_closed(self, cast, session, monkeypatch):
        publish(session, cast.coach, timezone.now())
        after = MONDAY + dt.timedelta(days=2)
        monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: after)
        standing = recall(the("hop"), WHY, cast.coach, timezone.now(), after)
        work_off()
        assert session.assigned.get().is_closed
        end_recall(standing, cast.coach, timezone.now(), after)
        assert not session.assigned.get().is_closed

    def test_twice_is_once(self, cast, session):
        take_back(cast)
        with pytest.raises(AlreadyRecalled):
            take_back(cast)

    @pytest.mark.parametrize("row", [{"reason": "."}, {"reason": WHY, "ended_at": MONDAY}])
    def test_the_database_refuses_what_makes_no_sense(self, cast, hops, row):
        if "ended_at" in row:
            row |= {"ended_at": timezone.now() - dt.timedelta(days=1)}
        with pytest.raises(IntegrityError), transaction.atomic():
            Recall.objects.create(exercise=the("hop"), by=cast.coach, at=timezone.now(), **row)


class TestGivingBack:
    def test_everybody_gets_it_as_before_and_the_recall_is_kept(self, cast, session):
        publish(session, cast.coach, timezone.now())
        standing = take_back(cast)
        work_off()
        end_recall(standing, cast.head_coach, timezone.now(), MONDAY)
        work_off()
        assert gets(session, cast.child) == ["hop"]
        kept = Recall.objects.get()
        assert (kept.by, kept.ended_by, kept.reason) == (cast.coach, cast.head_coach, WHY)

    def test_whom_it_left_with_nothing_gets_the_session_again(self, cast):
        ExerciseFactory(slug="alone")
        session = session_with(cast.cohort, "alone")
        publish(session, cast.coach, timezone.now())
        standing = take_back(cast, "alone")
        work_off()
        assert not session.assigned.exists()
        end_recall(standing, cast.coach, timezone.now(), MONDAY)
        work_off()
        assert gets(session, cast.child) == ["alone"]


class TestThePage:
    def test_it_says_who_has_it_and_who_did_it_since_a_day(self, cast, coach, session):
        cast.second = ChildFactory(given_name="Second", cohort=cast.cohort)
        publish(session, cast.coach, timezone.now())
        logged = session.assigned.get(child=cast.second)
        slot = logged.slots.get()
        entry = LogEntry("done", effort=5, minutes=9, results=(SlotEntry(slot, "done", amount=5),))
        write_log(logged, entry, by=cast.coach, now=timezone.now(), seen=logged.mark)
        html = coach.get(page()).content.decode()
        has, _, did = html.partition("Who did it")
        assert "Mira T." in has
        assert "Second T." not in has
        assert "Second T." in did
        tomorrow = MONDAY + dt.timedelta(days=1)
        later = coach.get(f"{page()}?since={tomorrow}").content.decode()
        assert "Second T." not in later

    def test_a_coach_reads_of_no_child_of_another_cohort(self, cast, client_for, session):
        publish(session, cast.coach, timezone.now())
        html = client_for(cast.other_coach).get(page()).content.decode()
        assert "Mira" not in html
        assert "1 child of another cohort" in html

    def test_taking_back_wants_words_and_says_what_it_did(self, cast, coach, session):
        publish(session, cast.coach, timezone.now())
        refused = coach.post(page(), {"reason": "."})
        assert refused.status_code == 422
        assert not Recall.objects.exists()
        html = coach.post(page(), {"reason": WHY}, follow=True).content.decode()
        assert "1 session not yet started" in html
        assert "Mira" not in html
        assert WHY in html
        html = coach.post(reverse("program:recall_end", args=["hop"]), follow=True).content.decode()
        assert "given back" in html
        assert not Recall.objects.standing().exists()

    def test_a_day_of_nonsense_is_the_usual_four_weeks(self, coach, session):
        html = coach.get(f"{page()}?since=yesterday").content.decode()
        assert (MONDAY - dt.timedelta(weeks=4)).isoformat() in html

    def test_no_family_enters(self, cast, client_for, session):
        assert client_for(cast.guardian).get(page()).status_code == 404

    def test_the_exercises_page_leads_to_it(self, coach, session):
        html = coach.get(reverse("library:exercise", args=["hop"])).content.decode()
        assert page() in html


class TestRetiring:
    def retire(self, coach, **said):
        return coach.post(reverse("library:retire", args=["hop"]), said)

    def test_it_asks_whether_to_take_it_back_too(self, cast, coach, session):
        publish(session, cast.coach, timezone.now())
        assert self.retire(coach).status_code == 422
        assert the("hop").is_published
        assert self.retire(coach, take_back="yes", reason="").status_code == 422
        assert the("hop").is_published
        assert self.retire(coach, take_back="yes", reason=WHY).status_code == 302
        assert not the("hop").is_published
        assert Recall.objects.standing().get().by == cast.coach
        work_off()
        assert gets(session, cast.child) == ["step"]

    def test_left_with_who_has_it_it_stays_there(self, cast, coach, session):
        publish(session, cast.coach, timezone.now())
        assert self.retire(coach, take_back="no").status_code == 302
        assert not Recall.objects.exists()
        assert not session.assigned.get().is_closed
        assert gets(session, cast.child) == ["hop"]


def test_where_nothing_can_take_its_place_the_family_reads_that_it_waits_and_why(
    cast, session, client_for
):
    publish(session, cast.coach, timezone.now())
    for slug in ("step", "leap"):
        take_back(cast, slug, "the floor is being mended")
    take_back(cast)
    work_off()
    assert not session.assigned.exists()
    page = reverse("program:child_day", args=[cast.child.public_id])
    read = text(client_for(cast.guardian).get(page, {"day": MONDAY.isoformat()}))
    assert (
        f"Monday: {session.name} waits. The coach is still deciding what Mira does in it." in read
    )
    assert f"taken back by the coach: {WHY}." in read
    assert "waits" not in text(client_for(cast.guardian).get(page, {"day": "2026-11-09"}))
