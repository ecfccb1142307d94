"""A closed hall, a sick coach: a session is called off or moved, and everything follows."""

import datetime as dt
import uuid

import pytest
from django.core import mail
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from athletes.changes import Rule, restrict
from library.body import Region, RestrictionKind, Side
from program.engine.attendance import Adherence
from program.family.calendar_feed import calendar_of
from program.family.offline import to_keep
from program.log.logbook import mark_started
from program.models import AssignedSession, Break, Completion, Session, Submission
from program.publish.publishing import PublishRefused, publish
from program.review.attendance import attendance_of
from program.review.children import Who
from program.review.findings.missed import missed_findings
from program.review.queries import review_rows
from tests.support.factories import MONDAY, ChildFactory, CompletionFactory
from tests.support.family import text
from tests.support.sliding import session_with
from tests.support.work import work_off

pytestmark = pytest.mark.django_db
TUESDAY = MONDAY + dt.timedelta(days=1)


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


def spare(child, coach, day):
    restrict(child, Rule(Region.THIGH, Side.BOTH, RestrictionKind.NOTHING, day, day), coach, day)


def call_off(client, session, because="The hall is closed."):
    address = reverse("program:call_off", args=[session.pk])
    return client.post(address, {"because": because}, follow=True)


def move(client, session, day, **more):
    address = reverse("program:move_session", args=[session.pk])
    return client.post(address, {"day": day.isoformat()} | more, follow=True)


def takes_place(client, session):
    return client.post(reverse("program:takes_place", args=[session.pk]), follow=True)


def mailed_to(person):
    work_off()
    return [each for each in mail.outbox if each.to == [person.email]]


def of(child, session) -> AssignedSession:
    return session.assigned.select_related("session").get(child=child)


def page(name, assigned):
    return reverse(f"program:{name}", args=[assigned.child.public_id, assigned.public_id])


def test_families_are_told_at_once_and_their_page_says_so(cast, coach, client_for, published):
    answer = text(call_off(coach, published))
    assert "is called off. The families of 2 children are told." in answer
    (sent,) = mailed_to(cast.guardian)
    assert sent.subject == "A session is called off"
    assert cast.child.given_name in sent.body
    assert "closed" not in sent.body
    family = client_for(cast.guardian)
    mine = of(cast.child, published)
    told = text(family.get(reverse("program:child_day", args=[cast.child.public_id])))
    assert "Called off." in told
    assert "“The hall is closed.”" in told
    assert "Start" not in told
    for name in ("follow", "read", "log", "sheet"):
        assert family.get(page(name, mine)).status_code == 302


def test_nobody_who_stopped_mails_is_told(cast, coach, published):
    cast.guardian.wants_mail = False
    cast.guardian.save()
    call_off(coach, published)
    assert not mailed_to(cast.guardian)


def test_it_cannot_be_logged_by_form_or_phone_or_past_both(cast, coach, client_for, published):
    mine = of(cast.child, published)
    call_off(coach, published)
    family = client_for(cast.guardian)
    answer = family.post(page("log", mine), {"state": "done", "seen": mine.mark})
    assert "This session was called off, so there is nothing to log." in text(answer)
    sent = {
        "id": str(uuid.uuid4()),
        "kind": "log",
        "child": str(cast.child.public_id),
        "session": str(mine.public_id),
        "fields": {"state": "done", "seen": mine.mark},
    }
    told = family.post(reverse("program:inbox"), sent, content_type="application/json").json()
    assert told["state"] == "refused"
    assert "called off" in told["sentence"]
    assert Submission.objects.get().payload["state"] == "done"
    mark_started([mine], timezone.now())
    assert of(cast.child, published).started_at is None
    with pytest.raises(IntegrityError), transaction.atomic():
        AssignedSession.objects.filter(pk=mine.pk).update(started_at=timezone.now())
    with pytest.raises(IntegrityError), transaction.atomic():
        CompletionFactory(
            assigned_session=mine, state="done", logged_at=timezone.now(), logged_by=cast.guardian
        )


def test_what_was_begun_stays_and_can_be_logged(cast, coach, client_for, published):
    mine = of(cast.child, published)
    mark_started([mine], timezone.now())
    assert "The families of 1 child are told." in text(call_off(coach, published))
    family = client_for(cast.guardian)
    assert family.get(page("follow", mine)).status_code == 200
    answer = family.post(page("log", mine), {"state": "done", "seen": mine.mark}, follow=True)
    assert "Logged for" in text(answer)
    assert Completion.objects.get().assigned_session == mine


def missed(cast, day):
    return list(missed_findings(review_rows(cast.coach, [Who(cast.child)], day)))


def test_it_is_nobodys_miss(cast, coach, published):
    second = session_with(cast.cohort)
    publish(second, cast.coach, timezone.now())
    later = MONDAY + dt.timedelta(days=5)
    assert missed(cast, later)
    for session in (published, second):
        call_off(coach, session)
    assert not missed(cast, later)
    (cohort,) = attendance_of(cast.coach, later)
    assert cohort.came_of_it == Adherence(called_off=4)
    assert cohort.came_of_it.reasons == "4 called off"


def test_a_phone_keeps_no_more_of_it_than_the_page_that_says_so(cast, coach, published):
    mine = of(cast.child, published)
    assert page("follow", mine) in to_keep(cast.guardian, MONDAY)["pages"]
    call_off(coach, published)
    kept = to_keep(cast.guardian, MONDAY)["pages"]
    assert page("session_day", mine) in kept
    assert page("follow", mine) not in kept


def test_a_calendar_shows_it_as_cancelled_until_it_takes_place_after_all(cast, coach, published):
    def feed():
        return calendar_of(cast.guardian, MONDAY, lambda session: "https://club.example").decode()

    before = feed()
    call_off(coach, published)
    cancelled = feed()
    assert "STATUS:CANCELLED" in cancelled
    takes_place(coach, published)
    again = feed()
    assert "STATUS:CANCELLED" not in again
    sequences = [
        int(each.partition("SEQUENCE:")[2].split()[0]) for each in (before, cancelled, again)
    ]
    assert sequences == sorted(sequences)


def test_it_takes_place_after_all_but_not_for_whom_it_has_become_forbidden(
    cast, coach, client_for, published
):
    call_off(coach, published)
    spare(cast.child, cast.coach, MONDAY)
    work_off()
    assert of(cast.child, published).closed_at is None
    work_off()
    mail.outbox.clear()
    assert "takes place after all. The families of 2 children are told." in text(
        takes_place(coach, published)
    )
    assert [each.subject for each in mailed_to(cast.guardian)] == [
        "A session takes place after all"
    ]
    # Closed in the same transaction, and chosen anew by the worker.
    work_off()
    slugs = published.assigned.filter(child=cast.child, closed_at=None)
    assert "heel-slide" not in slugs.values_list("slots__revision__exercise__slug", flat=True)
    assert not of(cast.second, published).is_called_off
    assert "somebody has said so already" in text(takes_place(coach, published))


def test_twice_is_once_and_a_draft_is_not_called_off(cast, coach, published):
    call_off(coach, published)
    at = Session.objects.get(pk=published.pk).called_off_at
    assert "was called off already, by Owning Coach" in text(call_off(coach, published, "Again"))
    assert Session.objects.get(pk=published.pk).called_off_at == at
    draft = session_with(cast.cohort)
    assert "nobody has it yet" in text(call_off(coach, draft))
    with pytest.raises(IntegrityError), transaction.atomic():
        Session.objects.filter(pk=draft.pk).update(called_off_at=at)
    with pytest.raises(IntegrityError), transaction.atomic():
        Session.objects.filter(pk=draft.pk).update(called_off_because="No reason")


def test_what_is_called_off_does_not_go_out_again_before_it_takes_place(cast, coach, published):
    call_off(coach, published)
    with pytest.raises(PublishRefused, match="called off"):
        publish(published, cast.coach, timezone.now())


def test_moved_it_keeps_its_addresses_and_families_are_told_the_day(
    cast, coach, client_for, published
):
    before = of(cast.child, published)
    begun = of(cast.second, published)
    mark_started([begun], timezone.now())
    answer = text(move(coach, published, TUESDAY))
    assert "is on Tuesday" in answer
    assert "The families of 1 child are told." in answer
    after = of(cast.child, published)
    assert (after.public_id, after.date) == (before.public_id, TUESDAY)
    assert of(cast.second, published).date == MONDAY
    published.refresh_from_db()
    assert (published.date, published.is_edited_since_publishing) == (TUESDAY, False)
    (sent,) = mailed_to(cast.guardian)
    assert sent.subject == "A session is on another day"
    assert "Tuesday" in sent.body


def test_who_was_in_the_hall_without_it_was_there_on_the_day_it_is_not_on_any_more(
    cast, coach, published
):
    other = ChildFactory(cohort=cast.cohort)
    published.attendance.create(child=other, presence="there", said_at=timezone.now())
    move(coach, published, TUESDAY)
    assert not published.attendance.exists()


def test_on_its_new_day_what_holds_on_that_day_counts(cast, coach, published):
    spare(cast.child, cast.coach, TUESDAY)
    work_off()
    assert "heel-slide" in _slugs(cast.child, published)
    move(coach, published, TUESDAY)
    assert "heel-slide" not in _slugs(cast.child, published)


def _slugs(child, session):
    rows = session.assigned.filter(child=child)
    return set(rows.values_list("slots__revision__exercise__slug", flat=True))


def test_where_families_could_not_follow_it_is_not_moved(cast, coach, published):
    outside = published.block.ends_on + dt.timedelta(days=1)
    for day, why in ((MONDAY, "already"), (outside, "lies outside the block")):
        assert why in text(move(coach, published, day))
    Session.objects.filter(pk=published.pk).update(version=7)
    assert "Publish it first" in text(move(coach, published, TUESDAY))
    Session.objects.filter(pk=published.pk).update(version=1)
    call_off(coach, published)
    assert "is called off" in text(move(coach, published, TUESDAY))
    published.refresh_from_db()
    assert published.date == MONDAY
    assert (
        coach.post(
            reverse("program:move_session", args=[published.pk]), {"day": "soon"}
        ).status_code
        == 422
    )


def break_over(client, published, **more):
    said = {
        "name": "Holidays",
        "first": MONDAY.isoformat(),
        "last": TUESDAY.isoformat(),
        "cohort": published.block.cohort_id,
    }
    return client.post(reverse("program:breaks"), said | more, follow=True)


def test_a_break_over_published_sessions_asks_what_becomes_of_them(cast, coach, published):
    asked = break_over(coach, published)
    assert asked.status_code == 422
    assert published.name in asked.content.decode()
    assert not Break.objects.exists()
    break_over(coach, published, sessions="leave")
    published.refresh_from_db()
    assert (Break.objects.count(), published.is_called_off) == (1, False)
    Break.objects.all().delete()
    break_over(coach, published, sessions="call_off")
    published.refresh_from_db()
    assert (Break.objects.count(), published.called_off_because) == (1, "Holidays")
    assert [each.subject for each in mailed_to(cast.guardian)] == ["A session is called off"]


def test_a_break_over_nothing_published_asks_nothing(cast, coach, published):
    call_off(coach, published)
    assert break_over(coach, published).status_code == 200
    assert Break.objects.count() == 1
