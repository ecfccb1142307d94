"""Families hear that sessions are published, each as they like: at once, in the evening, never."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob

from athletes.models import OutgoingMail, User
from program.common.edit_conflicts import mark_of
from program.models import Session, SessionNews
from program.publish.calling_off import call_off, move_published
from program.publish.publishing import publish
from program.publish.session_news import evening_after, tell_of_new_sessions
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.family import text

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
    week[0].note = "Barefoot."
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


def test_what_nobody_sent_from_a_page_is_not_mailed(cast, week, clock):
    publish(week[0], cast.coach, timezone.now())
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
