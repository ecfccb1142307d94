"""Families hear that sessions are published, each as they like: at once, in the evening, never."""

import datetime as dt

import pytest
from django.db.models import F
from django.urls import reverse
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob

from athletes.models import OutgoingMail, User
from athletes.signals import Circumstance
from program.common.edit_conflicts import mark_of
from program.models import Session, SessionNews
from program.publish.calling_off import call_off, move_published
from program.publish.deciding import Said, Word, decide
from program.publish.publishing import publish
from program.publish.refitting import refit
from program.publish.session_news import evening_after, tell_of_new_sessions
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    ExerciseFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
    UserFactory,
)
from tests.support.family import text
from tests.support.sliding import has, session_with, spare_the_thigh

pytestmark = pytest.mark.django_db

ORIGIN = "https://club.example"
SUNDAY = timezone.make_aware(dt.datetime.combine(MONDAY - dt.timedelta(days=1), dt.time(16)))
AT_SIX = SUNDAY.replace(hour=18)


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    """Sunday at four in the afternoon; `clock(moment)` moves on."""

    def now_is(moment):
        monkeypatch.setattr("django.utils.timezone.now", lambda: moment)

    now_is(SUNDAY)
    return now_is


@pytest.fixture
def week(cast):
    """Three sessions of a week, of which a coach has published none."""
    block = BlockFactory(cohort=cast.cohort)
    sessions = [
        SessionFactory(block=block, name=f"Session {n}", date=MONDAY + dt.timedelta(days=n))
        for n in (0, 2, 4)
    ]
    for session in sessions:
        SlotFactory(part=PartFactory(session=session))
    return sessions


def go(session, cast, **more):
    return publish(session, cast.coach, timezone.now(), origin=ORIGIN, **more)


def hears(person, how):
    User.objects.filter(pk=person.pk).update(session_mail=how)


def later(clock, moment):
    """What is due then is done, twice, as after a worker that died."""
    clock(moment)
    for _ in range(2):
        tell_of_new_sessions(origin=ORIGIN)


def mails_to(person):
    return list(OutgoingMail.objects.filter(to=person.email).order_by("pk"))


def for_the_arms():
    return ExerciseFactory(revision__loads=["shoulder"])


def due_times():
    jobs = ProcrastinateJob.objects.filter(task_name=tell_of_new_sessions.name)
    return sorted({each.scheduled_at for each in jobs})


def test_three_sessions_in_a_row_are_one_mail_in_the_evening_and_none_before(cast, week, clock):
    for session in week:
        go(session, cast)
    assert due_times() == [AT_SIX]
    later(clock, SUNDAY + dt.timedelta(hours=1))
    assert not mails_to(cast.guardian)
    later(clock, AT_SIX)
    (sent,) = mails_to(cast.guardian)
    assert sent.subject == "New sessions"
    assert "new sessions for Mira" in sent.body
    day = reverse("program:child_day", args=[cast.child.public_id])
    assert f"{ORIGIN}{day}?day={MONDAY:%Y-%m-%d}" in sent.body
    assert week[0].name not in sent.body
    assert "List-Unsubscribe" in sent.headers


def test_at_once_is_after_ten_minutes_in_which_the_rest_of_the_week_follows(cast, week, clock):
    hears(cast.guardian, "at_once")
    for minutes, session in zip((0, 3, 9), week, strict=True):
        clock(SUNDAY + dt.timedelta(minutes=minutes))
        go(session, cast)
    assert due_times()[0] == SUNDAY + dt.timedelta(minutes=10)
    for minutes in (10, 13, 19):
        later(clock, SUNDAY + dt.timedelta(minutes=minutes))
    assert len(mails_to(cast.guardian)) == 1


def test_sent_again_after_an_edit_is_no_news(cast, week, clock):
    go(week[0], cast)
    later(clock, AT_SIX)
    week[0].name = "Barefoot"
    week[0].save()
    assert go(week[0], cast).replaced == 1
    later(clock, AT_SIX + dt.timedelta(days=1))
    assert len(mails_to(cast.guardian)) == 1


def test_whoever_joins_later_hears_when_it_is_published_again(cast, week, clock):
    go(week[0], cast)
    later(clock, AT_SIX)
    second = ChildFactory(given_name="Nils", cohort=cast.cohort, guardian=cast.guardian)
    go(week[0], cast)
    later(clock, AT_SIX.replace(hour=21))
    _, sent = mails_to(cast.guardian)
    assert second.given_name in sent.body
    assert "Mira" not in sent.body


@pytest.mark.parametrize(
    "no",
    [{"session_mail": "never"}, {"wants_mail": False}, {"is_active": False}],
)
def test_nobody_is_told_who_does_not_want_it(cast, week, clock, no):
    User.objects.filter(pk=cast.guardian.pk).update(**no)
    go(week[0], cast)
    assert not SessionNews.objects.filter(person=cast.guardian).exists()
    later(clock, AT_SIX)
    assert not mails_to(cast.guardian)


def test_whoever_stops_mails_before_the_evening_gets_none(cast, week, clock):
    go(week[0], cast)
    User.objects.filter(pk=cast.guardian.pk).update(wants_mail=False)
    later(clock, AT_SIX)
    assert not mails_to(cast.guardian)


def test_a_guardian_who_is_none_any_more_hears_nothing(cast, week, clock):
    go(week[0], cast)
    cast.child.guardianships.all().delete()
    later(clock, AT_SIX)
    assert not mails_to(cast.guardian)


def test_what_is_called_off_moved_taken_back_or_over_is_not_told_as_new(cast, week, clock):
    for session in week:
        go(session, cast)
    call_off(week[0], "The hall is closed.", cast.coach, timezone.now())
    move_published(week[1], MONDAY + dt.timedelta(days=3), cast.coach, timezone.now(), "A fair.")
    week[2].assigned.all().delete()
    later(clock, AT_SIX)
    assert not mails_to(cast.guardian)


def test_taken_back_and_sent_again_is_told_of_once(cast, week, clock):
    """Taken back on Sunday before anybody was told, and once more after they were."""
    for moment in (AT_SIX, AT_SIX + dt.timedelta(hours=3)):
        go(week[0], cast)
        week[0].assigned.all().delete()
        tell_of_new_sessions(origin=ORIGIN)
        go(week[0], cast)
        later(clock, moment)
        week[0].assigned.all().delete()
    assert len(mails_to(cast.guardian)) == 1


def test_who_gets_a_session_only_after_it_was_published_hears_of_it_then_and_once(
    cast, slides, clock
):
    """Mira's thigh is spared when it is published; Nils has it at once, another way later."""
    nils = ChildFactory(given_name="Nils", cohort=cast.cohort, guardian=UserFactory(name="Ann"))
    for child in (cast.child, nils):
        has(child, "smooth-floor")
    spare_the_thigh(cast.child)
    session = session_with(cast.cohort)
    go(session, cast)
    later(clock, AT_SIX)
    assert not mails_to(cast.guardian)
    cast.child.restrictions.all().delete()
    has(nils, "carpet")
    for _ in range(2):
        for child in (cast.child, nils):
            refit(child, Circumstance.RESTRICTION, timezone.now(), SUNDAY.date())
    assert session.assigned.count() == 2
    for hour in (21, 22):
        later(clock, AT_SIX.replace(hour=hour))
    (sent,) = mails_to(cast.guardian)
    assert "new sessions for Mira" in sent.body
    assert len(mails_to(nils.guardians.get())) == 1


def test_what_a_coach_decides_for_a_child_after_publishing_is_told_too(cast, slides, clock):
    """Nothing fits until the coach says what she does instead."""
    has(cast.child, "smooth-floor")
    spare_the_thigh(cast.child)
    session = session_with(cast.cohort)
    go(session, cast)
    assert not SessionNews.objects.exists()
    slot = session.parts.get().slots.get()
    decide(session, [Word(slot, cast.child, for_the_arms())], Said(by=None, at=timezone.now()))
    later(clock, AT_SIX)
    assert "new sessions for Mira" in mails_to(cast.guardian)[0].body


def test_what_was_still_to_come_is_told_once_it_has_come_and_not_where_it_is_left_out(
    cast, slides, clock
):
    """Two children lack something for the second exercise; one then gets another one, and for the
    other it is left out."""
    nils = ChildFactory(given_name="Nils", cohort=cast.cohort, guardian=cast.guardian)
    spare_the_thigh(cast.child)
    spare_the_thigh(nils)
    session = session_with(cast.cohort)
    open_slot = session.parts.get().slots.get()
    SlotFactory(part=open_slot.part, position=1, exercise=for_the_arms())
    go(session, cast, goes_out_incomplete=True)
    later(clock, AT_SIX)
    assert list(session.assigned.values_list("to_come", flat=True)) == [1, 1]
    for child, instead in ((cast.child, for_the_arms()), (nils, None)):
        decide(session, [Word(open_slot, child, instead)], Said(by=None, at=timezone.now()))
    later(clock, AT_SIX.replace(hour=21))
    _, sent = mails_to(cast.guardian)
    assert sent.subject == "About a session"
    assert "What was still to come of a session of Mira’s is there now" in sent.body
    assert "Nils" not in sent.body


def test_a_note_to_the_whole_cohort_is_told_to_each_as_they_like(cast, week, clock):
    """The coach writes it into a session that is out, and publishes that again; the next edit is of
    something else."""
    ben = ChildFactory(given_name="Ben", cohort=cast.cohort, guardian=UserFactory(name="Ann"))
    ann = ben.guardians.get()
    hears(ann, "never")
    go(week[0], cast)
    later(clock, AT_SIX)
    for changed in ({"note": "Bring a coat: we meet in the park."}, {"name": "In the park"}):
        Session.objects.filter(pk=week[0].pk).update(**changed, version=F("version") + 1)
        assert go(week[0], cast).replaced == 2
    later(clock, AT_SIX.replace(hour=21))
    _, sent = mails_to(cast.guardian)
    assert sent.subject == "About a session"
    assert "The coach has written something to a session of Mira’s" in sent.body
    assert "coat" not in sent.body
    assert not mails_to(ann)


def test_a_note_written_before_the_family_has_heard_of_the_session_is_one_mail(cast, week, clock):
    go(week[0], cast)
    Session.objects.filter(pk=week[0].pk).update(note="A coat.", version=F("version") + 1)
    go(week[0], cast)
    later(clock, AT_SIX)
    (sent,) = mails_to(cast.guardian)
    assert "new sessions for Mira" in sent.body
    assert "written" not in sent.body


def test_what_nobody_sent_from_a_page_is_not_mailed(cast, week, clock):
    publish(week[0], cast.coach, timezone.now())
    newcomer = ChildFactory(given_name="New", cohort=cast.cohort, guardian=cast.guardian)
    refit(newcomer, Circumstance.COHORT, timezone.now(), SUNDAY.date())
    assert week[0].assigned.filter(child=newcomer).exists()
    later(clock, AT_SIX)
    assert not SessionNews.objects.exists()


def test_a_session_that_is_over_is_no_news(cast, week, clock):
    clock(SUNDAY + dt.timedelta(days=2))
    go(week[0], cast)
    assert not SessionNews.objects.exists()


def test_a_publish_that_fails_leaves_no_news(cast, week, monkeypatch):
    monkeypatch.setattr("program.publish.publishing.withdraw", lambda _: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        go(week[0], cast)
    assert not SessionNews.objects.exists()
    assert not due_times()


def test_the_evening_is_at_six_and_what_comes_after_it_at_nine():
    """17:59 is before six, 18:00 is not; at nine and later it is tomorrow. The clocks go back in
    London on 25 October 2026."""

    def london(day, hour, minute=0):
        return timezone.make_aware(dt.datetime(2026, 10, day, hour, minute))

    assert evening_after(london(24, 17, 59)) == london(24, 18)
    assert evening_after(london(24, 18)) == london(24, 21)
    assert evening_after(london(24, 21)) == london(25, 18)
    assert london(25, 18) - london(24, 18) == dt.timedelta(hours=24)
    assert evening_after(london(24, 21)).utcoffset() == dt.timedelta(0)


def test_publishing_from_the_builder_and_for_a_whole_week_tells_the_families(cast, coach, week):
    coach.post(reverse("program:publish", args=[week[0].pk]), {"version": week[0].version})
    assert SessionNews.objects.get(person=cast.guardian).session == week[0]
    address = reverse("program:publish_week", args=[week[0].block_id, 1])
    coach.post(address, {"mark": mark_of(Session.objects.order_by("date", "pk"))})
    told = SessionNews.objects.filter(person=cast.guardian)
    assert set(told.values_list("session", flat=True)) == {each.pk for each in week}
    assert not told.filter(told_at__isnull=False).exists()


def test_how_to_hear_is_chosen_beside_other_mail(cast, client_for):
    client, page = client_for(cast.guardian), reverse("athletes:mail_setting")
    assert "In the evening, if there are any" in client.get(page).content.decode()
    client.post(page, {"wants_mail": "on", "session_mail": "at_once"})
    cast.guardian.refresh_from_db()
    assert (cast.guardian.wants_mail, cast.guardian.session_mail) == (True, "at_once")
    refused = client.post(page, {"wants_mail": "on", "session_mail": "hourly"})
    assert "hourly is not one of the available choices" in text(refused)
    client.post(page, {})
    cast.guardian.refresh_from_db()
    assert (cast.guardian.wants_mail, cast.guardian.session_mail) == (False, "at_once")
    assert "session_mail" not in client_for(cast.coach).get(page).content.decode()
