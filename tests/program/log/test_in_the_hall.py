"""Who was in the hall without the session stands in the group's log all the same. It is Wednesday
evening; Dio has something still to be chosen, Eve rests."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from athletes.models import Child, HealthView
from program.engine.attendance import Adherence, InTheHall
from program.log.pain_fields import AWAY_AND_HURT
from program.models import Attendance, Completion, PainReport, Session
from program.publish.calling_off import call_off
from program.report.facts import pages_of
from program.review.attendance import attendance_of
from tests.program.log.test_group_log import KNEE, THERE, Tablet, group_session, later, logs
from tests.support.factories import AssignedSessionFactory, ChildFactory
from tests.support.family import EVENING, WEDNESDAY, give, text
from tests.support.markup import fields_of, markup
from tests.support.planning import queries_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]


@pytest.fixture
def session(cast):
    session = group_session(cast.cohort, ["Ada"])
    for name in ("Dio", "Eve"):
        ChildFactory(given_name=name, cohort=cast.cohort)
    resting = {"kind": "nothing", "start": WEDNESDAY, "until": WEDNESDAY}
    child("Eve").restrictions.create(region="", **resting)
    give(AssignedSessionFactory(session=session, child=cast.child, seconds=1320), "Squat")
    return session


def child(name):
    return Child.objects.get(given_name=name)


class Hall(Tablet):
    def __init__(self, client, session):
        super().__init__(client, session)
        self.lines |= {name: str(child(name).public_id) for name in ("Dio", "Eve")}

    def look(self):
        """The page opened anew."""
        self.fields = fields_of(self.client.get(self.address))
        return self


@pytest.fixture
def hall(cast, client_for, session):
    return Hall(client_for(cast.coach), session)


def noted():
    return {each.child.given_name: each.presence for each in Attendance.objects.all()}


SICK, AWAY = {"presence": "sick"}, {"presence": "away"}


def test_who_has_nothing_of_the_session_is_noted_as_there_or_why_not(hall, cast):
    hall.send(Dio=THERE, Eve=SICK, Ada=THERE)
    assert noted() == {"Dio": "there", "Eve": "sick"}
    assert logs().keys() == {"Ada"}
    note = Attendance.objects.get(child=child("Dio"))
    assert (note.said_at, note.said_by) == (EVENING, cast.coach)
    assert "Saved: 2 there, 1 sick, 1 left open." in text(hall.client.get(hall.address))
    looked = HealthView.objects.filter(child=child("Eve"), kind=HealthView.Kind.SESSION)
    assert looked.exists()
    hall.look().send(Eve=THERE)
    assert noted()["Eve"] == "there"


def test_sent_twice_or_left_alone_a_note_stays_as_it_was(hall, monkeypatch):
    said = hall.fill(Dio=THERE)
    for _ in range(2):
        assert hall.client.post(hall.address, said).status_code == 302
        later(monkeypatch)
    hall.look().send(Ada=THERE)
    assert Attendance.objects.get().said_at == EVENING


def test_as_planned_says_nothing_of_whoever_has_nothing_planned(hall):
    hall.fields = fields_of(hall.send(as_planned="1"))
    hall.send()
    assert noted() == {}
    assert len(logs()) == 2


def test_of_two_tablets_the_untouched_line_takes_the_newer_and_a_touched_one_asks(
    hall, cast, client_for, session, monkeypatch
):
    hall.send(Dio=THERE, Eve=THERE)
    second = Hall(client_for(cast.head_coach), session)
    later(monkeypatch)
    hall.look().send(Dio=SICK)
    assert second.send(Ada=THERE).status_code == 302
    assert noted()["Dio"] == "sick"
    answer = second.send(Dio=AWAY, Eve=AWAY)
    assert answer.status_code == 409
    assert "Owning Coach has noted meanwhile: sick." in markup(answer)
    assert markup(answer).count("has noted meanwhile") == 1
    assert noted() == {"Dio": "sick", "Eve": "there"}
    second.fields = fields_of(answer)
    assert second.send().status_code == 302
    assert noted() == {"Dio": "away", "Eve": "away"}


def test_a_wrong_word_is_refused_and_before_its_day_nothing_is_noted(hall, session):
    assert hall.send(Dio={"presence": "asleep"}).status_code == 422
    Session.objects.filter(pk=session.pk).update(date=WEDNESDAY + dt.timedelta(days=1))
    assert hall.send(Dio=THERE).status_code == 422
    assert noted() == {}


def send_to(name, session):
    given = AssignedSessionFactory(session=session, child=child(name), seconds=1320)
    return give(given, "Squat").assigned_session


def test_once_the_child_gets_the_session_its_line_begins_from_the_note_which_goes_with_the_log(
    hall, session
):
    hall.send(Dio=THERE, Eve=SICK)
    for name in ("Dio", "Eve"):
        send_to(name, session)
    page = text(hall.client.get(hall.address))
    assert "There: Owning Coach said so before Dio got the session. Saving logs it." in page
    assert noted().keys() == {"Dio", "Eve"}
    hall.look().send(Dio={"effort": "4"})
    told = {name: (log.state, log.absence, log.effort) for name, log in logs().items()}
    assert told == {"Dio": ("done", "", 4), "Eve": ("not", "sick", None)}
    assert noted() == {}


def test_a_line_tapped_before_the_child_got_the_session_is_shown_again_before_it_counts_as_done(
    hall, session
):
    said = hall.fill(Dio=THERE)
    send_to("Dio", session)
    answer = hall.client.post(hall.address, said)
    assert (answer.status_code, noted(), logs()) == (409, {}, {})
    assert "Has got the session since you opened this page" in markup(answer)
    hall.fields = fields_of(answer)
    hall.send()
    assert (noted(), logs()["Dio"].state) == ({}, "done")


def test_a_line_tapped_before_its_session_was_gone_keeps_who_was_there_and_what_hurts(
    hall, session
):
    given = send_to("Dio", session)
    said = hall.look().fill(Dio=THERE | KNEE | {"hurt_slot": "p0s0", "effort": "6"})
    given.delete()
    answer = hall.client.post(hall.address, said)
    assert answer.status_code == 409
    assert "Has the session no longer" in markup(answer)
    report = PainReport.objects.get()
    assert (report.child, report.region, report.level) == (child("Dio"), "knee", 4)
    hall.fields = fields_of(answer)
    hall.send()
    assert (noted(), PainReport.objects.count()) == ({"Dio": "there"}, 1)


def test_what_hurts_somebody_without_the_session_is_reported_before_anything_else(
    hall, cast, monkeypatch
):
    incomplete = hall.send(Dio={"hurt": "yes", "hurt_region": "knee", "hurt_side": "left"})
    assert incomplete.status_code == 422
    assert "Say how much, from 1 to 10." in markup(incomplete)
    assert not PainReport.objects.exists()
    hall.fields = fields_of(incomplete)
    hall.send(Ada={"effort": "11"}, Dio={"hurt_level": "4"})  # Ada’s line is refused
    report = PainReport.objects.get()
    assert (report.child, report.region, report.level) == (child("Dio"), "knee", 4)
    assert (report.assigned_session, report.reported_by) == (None, cast.coach)
    assert noted() == {}
    hall.send(Dio={"hurt_level": "4"})
    assert (noted(), PainReport.objects.count()) == ({"Dio": "there"}, 1)
    page = text(hall.client.get(hall.address))
    assert "Saved: 1 there, 1 hurt, 2 left open." in page
    assert "Left knee: spared until you have answered." in page
    both = hall.look().send(Dio=AWAY | KNEE)
    assert AWAY_AND_HURT in markup(both)
    assert PainReport.objects.count() == 1


def attended(coach, name, today=WEDNESDAY):
    (cohort,) = attendance_of(coach, today)
    return next(each for each in cohort.children if each.child.given_name == name)


def test_it_counts_as_having_been_there_and_neither_as_done_nor_as_missed(hall, cast, session):
    hall.send(Dio=THERE, Eve={"presence": "no_word"})
    for name, was in (("Dio", InTheHall(there=1)), ("Eve", InTheHall(no_word=1))):
        found = attended(cast.coach, name)
        assert (found.in_the_hall, found.came_of_it, found.not_sent) == (was, Adherence(), 1)
    table = text(hall.client.get(reverse("program:attendance")))
    assert "Dio A. 0 of 0 – – – – – – – 1 1 there" in table.replace(str(child("Dio")), "Dio A.")
    page = text(hall.client.get(reverse("program:child_review", args=[child("Dio").public_id])))
    assert "In the hall without a session, in twelve weeks: 1 there." in page
    reports = pages_of(session.block, [child("Dio"), child("Eve")], WEDNESDAY)
    said = {name: reports[child(name).pk]["consistency"] for name in ("Dio", "Eve")}
    assert "Dio also came once when no session was ready." in said["Dio"]
    assert "also came" not in said["Eve"]


def test_sent_after_the_note_and_never_logged_the_session_is_no_miss(hall, cast, session):
    hall.send(Dio=THERE)
    send_to("Dio", session)
    found = attended(cast.coach, "Dio", WEDNESDAY + dt.timedelta(days=3))
    assert (found.came_of_it, found.in_the_hall) == (Adherence(noted=1), InTheHall())


def test_called_off_the_session_was_no_day_in_the_hall(hall, cast, session):
    hall.send(Dio=THERE)
    call_off(session, "The hall is closed.", cast.coach, EVENING)
    (cohort,) = attendance_of(cast.coach, WEDNESDAY)
    assert "Dio" not in [each.child.given_name for each in cohort.children]


def test_the_database_takes_a_note_of_the_cohort_of_a_published_session_alone(cast, session):
    stranger = ChildFactory(given_name="Gus", cohort=cast.other_cohort)
    draft = group_session(cast.cohort, [])
    Session.objects.filter(pk=draft.pk).update(published_at=None, published_version=None)
    dio = child("Dio")
    session.attendance.create(child=dio, presence="there", said_at=EVENING)
    for at, who, presence in (
        (session, stranger, "there"),
        (draft, dio, "there"),
        (session, dio, "away"),
        (session, child("Eve"), "asleep"),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            at.attendance.create(child=who, presence=presence, said_at=EVENING)


def test_more_without_the_session_take_no_more_queries(cast, client_for, session):
    client, address = client_for(cast.coach), reverse("program:group_log", args=[session.pk])
    before = queries_of(client, address)
    for n in range(9):
        ChildFactory(given_name=f"Kid {n}", cohort=cast.cohort)
    assert queries_of(client, address) == before <= 16
    assert not Completion.objects.exists()
