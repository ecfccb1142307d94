"""Something hurts: written first, once and by its own id, however its log ends."""

import datetime as dt
import uuid

import pytest
from django.urls import reverse
from django.utils import timezone

from program.log.logbook import LogEntry, write_log
from program.log.pain_mail import next_telling, tell_in_the_evening
from program.log.pain_reports import take_back
from program.models import AssignedSession, Completion, PainReport, SafetyRules, Submission
from tests.support.family import EVENING, assign, give
from tests.support.pain import ORIGIN, knee, report, unwell
from tests.support.work import work_off

LATER = EVENING + dt.timedelta(minutes=20)
HURT = {"hurt": "yes", "hurt_region": "ankle", "hurt_side": "left", "hurt_level": "6"}

pytestmark = pytest.mark.django_db


@pytest.fixture
def session(cast):
    session = assign(cast.child)
    give(session, "Step-up")
    return session


def send(client, session, kind="log", **fields):
    said = {"id": str(uuid.uuid4()), "kind": kind, "fields": fields}
    said |= {"child": str(session.child.public_id), "session": str(session.public_id)}
    return client.post(reverse("program:inbox"), said, content_type="application/json")


def log_page(session) -> str:
    return reverse("program:log", args=[session.child.public_id, session.public_id])


# ---- its own path


def test_another_phone_logged_meanwhile_and_the_pain_of_the_second_is_told_and_shown(
    cast, session, client_for
):
    seen = session.mark
    write_log(session, LogEntry("done"), by=cast.coach, now=EVENING, seen=seen)
    phone = client_for(cast.guardian)
    answer = send(phone, session, state="done", effort="9", seen=seen, **HURT).json()
    assert answer["state"] == "conflict"
    assert str(PainReport.objects.get()) == "left ankle, 6 of 10"
    kept = reverse("program:kept_logs", args=[session.child.public_id, session.public_id])
    assert "Left ankle, 6 of 10." in phone.get(kept).content.decode()
    phone.post(kept, {"kept": Submission.objects.get().pk, "act": "leave"})
    assert PainReport.objects.count() == 1


def test_a_session_that_is_gone_takes_no_report_with_it(cast, session, client_for):
    report(session, knee(), cast.guardian, EVENING)
    AssignedSession.objects.all().delete()
    assert PainReport.objects.get().assigned_session is None
    answer = send(client_for(cast.guardian), session, state="done", **HURT).json()
    assert answer["state"] == "refused"
    assert PainReport.objects.count() == 2


@pytest.mark.parametrize("nonsense", [{"minutes": "9000"}, {"effort": "99"}, {"state": ""}])
def test_a_log_that_is_refused_for_another_field_still_says_what_hurts(
    cast, session, client_for, nonsense
):
    phone = client_for(cast.guardian)
    hurt_id = str(uuid.uuid4())
    said = {"state": "done", "seen": session.mark, "hurt_id": hurt_id} | HURT | nonsense
    page = phone.post(log_page(session), said)
    assert not Completion.objects.exists()
    assert str(PainReport.objects.get().public_id) == hurt_id
    assert "Left ankle, 6 of 10." in page.content.decode()
    send(phone, session, **said)
    assert PainReport.objects.count() == 1


def test_a_log_somebody_else_changed_unseen_still_says_what_hurts(cast, session, client_for):
    phone = client_for(cast.guardian)
    page = phone.post(log_page(session), {"state": "done", "seen": "another|"} | HURT)
    assert "The coach changed this session" in page.content.decode()
    assert PainReport.objects.count() == 1
    assert not Completion.objects.exists()


def test_one_wrong_line_of_the_group_keeps_nobodys_pain_back(cast, session, client_for):
    AssignedSession.objects.update(date=EVENING.date())
    line = str(session.child.public_id)
    said = {f"{line}-{name}": value for name, value in HURT.items()}
    said |= {f"{line}-presence": "there", f"{line}-seen": session.mark, "minutes": "9000"}
    page = client_for(cast.coach).post(
        reverse("program:group_log", args=[session.session_id]), said
    )
    assert page.status_code == 422
    assert str(PainReport.objects.get()) == "left ankle, 6 of 10"


def test_a_phone_that_left_out_the_side_and_how_much_is_heard_all_the_same(
    cast, session, client_for
):
    send(client_for(cast.guardian), session, "log", state="done", hurt="yes", hurt_region="knee")
    told = PainReport.objects.get()
    assert (str(told), told.spares, Completion.objects.count()) == ("knee", True, 0)


def test_signs_travel_with_a_report_from_a_phone(cast, session, client_for):
    send(client_for(cast.guardian), session, "pain", hurt_signs="limp,pop", **HURT)
    assert PainReport.objects.get().signs == ["limp", "pop"]


def test_away_and_hurt_is_asked_back_and_nothing_is_written(cast, session, client_for):
    said = {"state": "not", "absence": "away", "seen": session.mark} | HURT
    page = client_for(cast.guardian).post(log_page(session), said).content.decode()
    assert "You said away, and that something hurt." in page
    assert not PainReport.objects.exists()


# ---- once, by its own id


def test_a_report_that_changes_is_still_one_and_waits_for_an_answer_again(cast, session):
    first = knee(level=3)
    report(session, first, cast.guardian, EVENING)
    assert PainReport.objects.all().answer(cast.coach, LATER) == 1
    report(session, first, cast.guardian, LATER)
    assert PainReport.objects.get().answered_by == cast.coach
    report(session, knee(public_id=first.public_id, level=7), cast.guardian, LATER)
    told = PainReport.objects.get()
    assert (told.level, told.answered_at, told.answered_by) == (7, None, None)


def test_the_id_of_another_familys_report_touches_that_report_nowhere(cast, session):
    theirs = knee(level=3)
    report(assign(cast.other_child), theirs, cast.other_guardian, EVENING)
    report(session, knee(public_id=theirs.public_id, level=9), cast.guardian, EVENING)
    assert {(r.child, r.level) for r in PainReport.objects.all()} == {
        (cast.other_child, 3),
        (cast.child, 9),
    }


def test_who_answered_a_report_first_is_kept(cast, session):
    report(session, knee(), cast.guardian, EVENING)
    PainReport.objects.all().answer(cast.coach, EVENING)
    assert PainReport.objects.all().answer(cast.head_coach, LATER) == 0
    told = PainReport.objects.get()
    assert (told.answered_by, told.answered_at) == (cast.coach, EVENING)


def test_a_report_about_the_wrong_child_stays_with_who_said_so_and_why(cast, session):
    told = report(session, knee(), cast.coach, EVENING)
    assert take_back(told, cast.coach, LATER, "Meant the other Mira.")
    assert not take_back(told, cast.head_coach, LATER, "Twice.")
    told.refresh_from_db()
    assert (told.taken_back_by, told.taken_back_because) == (cast.coach, "Meant the other Mira.")
    assert not PainReport.objects.unanswered().exists()


# ---- what a program sets


@pytest.mark.parametrize(("level", "spares"), [(1, False), (2, False), (3, True), (10, True)])
def test_a_program_sets_from_how_much_a_place_is_spared(cast, session, level, spares):
    SafetyRules.objects.change(cast.head_coach, EVENING, spares_from=3)
    assert report(session, knee(level=level), cast.guardian, EVENING).spares is spares


def test_a_warning_sign_spares_whatever_the_level(cast, session):
    SafetyRules.objects.change(cast.head_coach, EVENING, spares_from=4)
    assert report(session, knee(level=1, signs=("limp",)), cast.guardian, EVENING).spares


# ---- who hears, and when


@pytest.mark.parametrize(
    "pain", [knee(level=7), knee(level=1, signs=("locks",)), unwell("chest"), unwell("head_knock")]
)
def test_what_is_urgent_is_mailed_at_once_to_every_coach_of_the_child(
    cast, session, pain, mailoutbox
):
    report(session, pain, cast.guardian, EVENING)
    work_off()
    assert {to for mail in mailoutbox for to in mail.to} == {
        cast.coach.email,
        cast.head_coach.email,
    }
    assert {mail.subject for mail in mailoutbox} == {"Please look at a report today"}
    body = mailoutbox[0].body
    link = f"{ORIGIN}/review/{cast.child.public_id}/"
    assert link in body
    assert cast.child.given_name in body
    for private in ("knee", "chest", "7", cast.child.family_initial + "."):
        assert private not in body.partition("To stop mails")[0].replace(link, "")


def test_the_third_report_of_one_place_is_urgent(cast, session, mailoutbox):
    for days_ago in (20, 10, 0):
        report(session, knee(level=1), cast.guardian, EVENING - dt.timedelta(days=days_ago))
    told = PainReport.objects.order_by("reported_at").values_list("mailed_at", flat=True)
    assert list(told) == [None, None, EVENING]


def test_the_last_who_would_hear_cannot_switch_it_off(cast, session, mailoutbox):
    type(cast.coach).objects.update(wants_mail=False)
    report(session, knee(level=8), cast.guardian, EVENING)
    work_off()
    assert {to for mail in mailoutbox for to in mail.to} == {
        cast.coach.email,
        cast.head_coach.email,
    }


def test_one_who_stopped_mails_is_spared_them_while_another_hears(cast, session, mailoutbox):
    type(cast.coach).objects.filter(pk=cast.coach.pk).update(wants_mail=False)
    report(session, knee(level=8), cast.guardian, EVENING)
    work_off()
    assert [mail.to for mail in mailoutbox] == [[cast.head_coach.email]]


@pytest.mark.parametrize(
    ("told", "heard"),
    [("18:00", "4 20:00"), ("20:30", "4 22:00"), ("23:10", "5 07:00"), ("03:00", "4 20:00")],
)
def test_the_rest_is_told_that_evening_and_nobody_is_woken(told, heard):

    hour, minute = map(int, told.split(":"))
    now = timezone.make_aware(dt.datetime(2026, 11, 4, hour, minute))
    assert f"{timezone.localtime(next_telling(now)):%-d %H:%M}" == heard


def test_the_evening_tells_each_coach_once_of_all_that_waits(cast, session, mailoutbox):

    report(session, knee(level=2), cast.guardian, EVENING)
    report(session, knee(level=2, side="right"), cast.guardian, EVENING)
    tell_in_the_evening(ORIGIN)
    tell_in_the_evening(ORIGIN)
    work_off()
    assert sorted(mail.to[0] for mail in mailoutbox) == sorted(
        [cast.coach.email, cast.head_coach.email]
    )
    assert {mail.subject for mail in mailoutbox} == {"Reports of today wait for an answer"}
    assert f"{ORIGIN}/review/" in mailoutbox[0].body


def test_what_was_answered_before_the_evening_is_not_told_any_more(cast, session, mailoutbox):

    report(session, knee(level=2), cast.guardian, EVENING)
    PainReport.objects.all().answer(cast.coach, LATER)
    tell_in_the_evening(ORIGIN)
    work_off()
    assert mailoutbox == []
