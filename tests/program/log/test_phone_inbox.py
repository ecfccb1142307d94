"""What phones send: each thing once, in any order, and nothing dropped."""

import itertools
import json
import uuid

import pytest
from django.urls import reverse

from program.log.phone_inbox import choose
from program.models import AssignedSession, Completion, PainReport, Question, Submission
from tests.support.family import EVENING, assign, give, text

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]


@pytest.fixture
def session(cast):
    session = assign(cast.child)
    give(session, "Sit to stand")
    return session


class Phone:
    """Somebody's phone, with the session open on it since now."""

    def __init__(self, client, session):
        self.client, self.session = client, session
        self.seen = AssignedSession.objects.get(pk=session.pk).mark

    def item(self, kind, item_id=None, **fields):
        return {
            "id": str(item_id or uuid.uuid4()),
            "kind": kind,
            "child": str(self.session.child.public_id),
            "session": str(self.session.public_id),
            "fields": fields,
        }

    def log(self, **fields):
        said = {"seen": self.seen, "state": "done", "effort": "5", "minutes": "20"}
        return self.item("log", **(said | fields))

    def pain(self, **fields):
        said = {"hurt_id": str(uuid.uuid4()), "hurt_region": "knee", "hurt_side": "left"}
        return self.item("pain", **(said | {"hurt_level": "3", "hurt_slot": "p0s0"} | fields))

    def send(self, item):
        return self.client.post(
            reverse("program:inbox"), json.dumps(item), content_type="application/json"
        )


@pytest.fixture
def phone(cast, client_for, session):
    return Phone(client_for(cast.guardian), session)


def test_a_log_sent_three_times_is_one_log(phone, session):
    item = phone.log()
    answers = [phone.send(item).json() for _ in range(3)]
    assert answers == [{"state": "written", "sentence": ""}] * 3
    log = Completion.objects.get()
    assert (log.state, log.effort, log.minutes, log.edited_at) == ("done", 5, 20, None)
    assert Submission.objects.count() == 1


def test_a_question_sent_twice_is_asked_once_and_an_empty_one_is_refused(cast, phone, session):
    item = phone.item("ask", text="Is a stool low enough?")
    phone.send(item)
    phone.send(item)
    question = Question.objects.visible_to(cast.coach).get()
    assert (question.text, question.asked_by) == ("Is a stool low enough?", cast.guardian)
    assert phone.send(phone.item("ask", text=" ")).json()["state"] == "refused"


def test_pain_sent_twice_is_one_report_and_names_the_exercise(phone, session):
    item = phone.pain()
    phone.send(item)
    phone.send(item)
    report = PainReport.objects.get()
    assert (report.region, report.side, report.level) == ("knee", "left", 3)
    assert report.revision == session.slots.get().revision


@pytest.mark.parametrize("order", list(itertools.permutations(range(4))))
def test_whatever_order_things_come_in_the_same_is_written(phone, session, order):
    items = [
        phone.item("started"),
        phone.item("easier", slot="p0s0", round="1"),
        phone.pain(),
        phone.log(),
    ]
    for nth in order:
        assert phone.send(items[nth]).json()["state"] == "written"
    session.refresh_from_db()
    assert session.started_at is not None
    assert Completion.objects.get().effort == 5
    assert PainReport.objects.count() == 1


def test_an_easier_choice_is_kept_even_if_nobody_ever_logs(cast, phone):
    phone.send(phone.item("easier", slot="p0s0", round="2"))
    choice = Submission.objects.visible_to(cast.coach).get()
    assert (choice.kind, choice.payload) == ("easier", {"slot": "p0s0", "round": "2"})


def test_what_was_written_is_not_kept_a_second_time(phone):
    phone.send(phone.pain())
    phone.send(phone.log(note="sore knee"))
    assert [row.payload for row in Submission.objects.all()] == [{}, {}]


def test_the_other_parents_log_is_not_written_over_and_neither_is_dropped(
    cast, client_for, phone, session
):
    other = Phone(client_for(cast.athlete), session)
    phone.send(phone.log(effort="4"))
    answer = other.send(other.log(effort="9", state="some")).json()
    assert answer["state"] == "conflict"
    assert "Own Parent has logged this session meanwhile" in answer["sentence"]
    assert Completion.objects.get().effort == 4
    kept = Submission.objects.visible_to(cast.coach).undecided().get()
    assert (kept.by, kept.payload["effort"]) == (cast.athlete, "9")


def test_choosing_the_kept_log_puts_it_in_place_and_settles_it(cast, client_for, phone, session):
    other = Phone(client_for(cast.athlete), session)
    phone.send(phone.log(effort="4"))
    other.send(other.log(effort="9"))
    kept = Submission.objects.undecided().get()
    assert choose(kept, cast.guardian, EVENING) == ""
    log = Completion.objects.get()
    assert (log.effort, log.edited_by) == (9, cast.guardian)
    kept.refresh_from_db()
    assert (kept.state, kept.payload) == ("settled", {})


def test_the_same_said_by_both_parents_is_no_conflict(cast, client_for, phone, session):
    other = Phone(client_for(cast.athlete), session)
    phone.send(phone.log())
    assert other.send(other.log()).json()["state"] == "written"


def test_a_session_published_anew_meanwhile_is_said_and_the_log_kept(phone, session):
    item = phone.log()
    session.fingerprint = "another"
    session.save()
    answer = phone.send(item).json()
    assert answer["state"] == "conflict"
    assert "The coach changed this session" in answer["sentence"]
    assert Submission.objects.get().payload["effort"] == "5"


def test_a_log_of_a_session_taken_out_of_the_plan_is_kept(phone, session):
    item = phone.log()
    session.delete()
    answer = phone.send(item).json()
    assert answer["state"] == "refused"
    assert "taken this session out" in answer["sentence"]
    assert Submission.objects.get().payload["effort"] == "5"


def test_pain_in_a_session_taken_out_of_the_plan_still_reaches_the_coach(cast, phone, session):
    item = phone.pain()
    session.delete()
    assert phone.send(item).json()["state"] == "written"
    phone.send(item)
    report = PainReport.objects.visible_to(cast.coach).get()
    assert (report.child, report.level, report.assigned_session) == (cast.child, 3, None)


def test_a_log_the_form_refuses_says_why_and_is_kept(phone):
    answer = phone.send(phone.log(minutes="999")).json()
    assert answer["state"] == "refused"
    assert "between 1 and 240 minutes" in answer["sentence"]
    assert not Completion.objects.exists()
    assert Submission.objects.get().payload["minutes"] == "999"


@pytest.mark.parametrize("who", ["other_guardian", "other_coach", "nobody"])
def test_a_stranger_sends_nothing(cast, client_for, session, who):
    stranger = Phone(client_for(getattr(cast, who)), session)
    assert stranger.send(stranger.log()).status_code == 404
    assert not Submission.objects.exists()
    assert not Completion.objects.exists()


def test_an_id_that_is_another_childs_answers_nothing(cast, client_for, phone):
    item = phone.log()
    phone.send(item)
    theirs = assign(cast.other_child)
    stranger = Phone(client_for(cast.other_guardian), theirs)
    assert stranger.send(stranger.log() | {"id": item["id"]}).status_code == 404


@pytest.mark.parametrize(
    "body",
    [
        "",
        "[]",
        "null",
        '{"id": "x"}',
        '{"id": "7f3d1c1e-7a57-4c5e-9d9f-3c4b8e3f5a10", "kind": "hug"}',
    ],
)
def test_what_cannot_be_read_is_refused_in_words(phone, body):
    answer = phone.client.post(reverse("program:inbox"), body, content_type="application/json")
    assert answer.status_code == 400
    assert answer.json()["sentence"]


def test_nobody_signed_out_sends_anything(client, session):
    phone = Phone(client, session)
    assert phone.send(phone.log()).status_code == 302
    assert not Submission.objects.exists()


@pytest.fixture
def two_logs(cast, client_for, phone, session):
    """The guardian's log stands, the young athlete's came after it."""
    other = Phone(client_for(cast.athlete), session)
    phone.send(phone.log(effort="4"))
    other.send(other.log(effort="9", note="harder than he says"))
    ids = [cast.child.public_id, session.public_id]
    return reverse("program:session_day", args=ids), reverse("program:kept_logs", args=ids)


def test_both_logs_are_shown_to_the_family_and_to_the_coach(cast, client_for, two_logs):
    day, kept = two_logs
    for who in [cast.guardian, cast.athlete, cast.coach]:
        assert kept in client_for(who).get(day).content.decode()
        page = text(client_for(who).get(kept))
        assert "effort 4 of 10" in page
        assert "Also sent: done, effort 9 of 10, 20 minutes." in page
        assert "harder than he says" in page


@pytest.mark.parametrize(("act", "effort"), [("take", 9), ("leave", 4)])
def test_somebody_chooses_once(cast, client_for, two_logs, act, effort):
    day, kept = two_logs
    row = Submission.objects.undecided().get()
    client = client_for(cast.guardian)
    for _ in range(2):
        answer = client.post(kept, {"kept": str(row.pk), "act": act})
        assert answer.headers["Location"] == day
    assert Completion.objects.get().effort == effort
    assert kept not in client.get(day).content.decode()


def test_a_stranger_chooses_nothing(cast, client_for, two_logs):
    row = Submission.objects.undecided().get()
    client = client_for(cast.other_guardian)
    assert client.post(two_logs[1], {"kept": str(row.pk), "act": "take"}).status_code == 404
    assert Completion.objects.get().effort == 4
