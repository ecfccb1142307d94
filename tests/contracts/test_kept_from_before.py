"""What stands in mailboxes, calendars, bookmarks and phones since before the modules moved still
works. What a device does with its own part of it is in `tests/browser/test_kept_on_a_device.py`."""

import json
import re
import uuid
from html import unescape
from types import SimpleNamespace
from urllib.parse import urlencode

import pytest
from django.core import signing
from django.test import Client
from django.urls import NoReverseMatch, resolve, reverse

from athletes.models import Child, Invitation, User
from athletes.session_store import SessionStore
from library.models import Exercise, ExerciseNote
from program.models import (
    AssignedSession,
    Break,
    Completion,
    PainReport,
    Question,
    SessionNote,
    Slot,
    Submission,
)
from tests.support.factories import CompletionFactory
from tests.support.kept_from_before import BEFORE, NOW, YESTERDAY, as_before

pytestmark = pytest.mark.django_db

HTMX = {"HX-Request": "true"}


@pytest.fixture
def before(settings, monkeypatch) -> SimpleNamespace:
    return as_before(settings, monkeypatch)


# Addresses

SOMETHING = {
    "int": 7,
    "uuid": uuid.UUID("5e1f0000-0000-4000-8000-000000000001"),
    "slug": "squat",
    "str": "token",
}
PART = re.compile("<([a-z]+)>")


def what_became_of(name: str, route: str) -> str:
    """ "" where a name still leads to its address and back."""
    things = [SOMETHING[kind] for kind in PART.findall(route)]
    path = PART.sub(lambda part: str(SOMETHING[part[1]]), route)
    try:
        found = reverse(name, args=things)
    except NoReverseMatch:
        return f"{name} is no name any more"
    same = {each for each, its_route in BEFORE["addresses"] if its_route == route}
    if found != path:
        return f"{name} is {found} and was {path}"
    leads_to = resolve(path).view_name
    return "" if leads_to in same else f"{path} leads to {leads_to} and led to {name}"


def test_every_name_of_then_is_the_same_address_and_leads_there():
    assert len(BEFORE["addresses"]) == 154
    assert list(filter(None, (what_became_of(*each) for each in BEFORE["addresses"]))) == []


# Mail


def test_the_link_in_an_old_mail_still_stops_that_persons_mails(before):
    strict = Client(enforce_csrf_checks=True)
    path = BEFORE["mail"]["stop_path"]
    assert strict.get(path).status_code == 200
    assert strict.post(path, {"List-Unsubscribe": "One-Click"}).status_code == 200
    assert list(User.objects.filter(wants_mail=False)) == [before.coach]


def test_a_mail_of_today_stops_by_the_same_link(
    before, client_for, mailoutbox, monkeypatch, django_capture_on_commit_callbacks
):
    monkeypatch.setattr("django.core.signing.time.time", NOW.timestamp)
    ids = [before.child.public_id, before.at_home.public_id]
    with django_capture_on_commit_callbacks(execute=True):
        client_for(before.guardian).post(reverse("program:ask", args=ids), {"text": "How deep?"})
    headers = mailoutbox[0].extra_headers
    assert {name: headers[name] for name in headers if name != "Message-ID"} == BEFORE["mail"][
        "headers"
    ]


def test_an_invitation_that_waits_in_a_mailbox_is_accepted(before, client):
    told = BEFORE["invitation"]
    details = {"email": "gran@example.org", "role": "guardian", "expires_at": before.in_a_week}
    Invitation.objects.create(
        token_digest=told["digest"], child=before.child, invited_by=before.coach, **details
    )
    path = f"/invitation/{told['token']}/"
    assert client.get(path, follow=True).status_code == 200
    assert client.post("/invitation/", {"name": "Gran"}).status_code == 302
    assert list(Child.objects.filter(guardians__email="gran@example.org")) == [before.child]


# Calendars


def events_in(calendar: str) -> list[dict[str, str]]:
    """Of each event, by which a calendar knows it again, whether it is newer, and when it is."""
    kept = {name for event in BEFORE["calendar"]["events"] for name in event}
    events = []
    for event in calendar.replace("\r\n ", "").split("BEGIN:VEVENT")[1:]:
        lines = (line.partition(":") for line in event.splitlines())
        named = {name.partition(";")[0]: value for name, _, value in lines}
        events.append({name: value for name, value in named.items() if name in kept})
    return events


def test_a_calendar_finds_the_same_events_at_the_address_it_was_given(before, client):
    told = BEFORE["calendar"]
    answer = client.get(told["path"])
    assert (answer.status_code, answer["Content-Type"]) == (200, told["type"])
    assert events_in(answer.content.decode()) == told["events"]


# What phones and tablets send


def send(client: Client, body: str) -> dict[str, str]:
    path = BEFORE["offline"]["family"]["inbox"]
    return client.post(path, body, content_type="application/json").json()


def log_of(assigned: AssignedSession) -> Completion:
    return Completion.objects.get(assigned_session=assigned)


def test_what_waited_on_a_phone_is_written_once_however_often_it_is_sent(before, client_for):
    parent = client_for(before.guardian)
    for _ in range(2):
        for body in BEFORE["inbox"]:
            assert send(parent, body) == {"state": "written", "sentence": ""}
    log = log_of(before.at_home)
    assert (log.state, log.effort, log.minutes, log.edited_at) == ("some", 5, 1, None)
    assert [(each.state, each.took_easier, each.amount) for each in log.results.all()] == [
        ("not", True, None),
        ("done", False, 20),
    ]
    assert log.done_on == before.at_home.date, "a page from before the day was asked sends none"
    again = log_of(before.logged)
    assert (again.effort, again.note, again.edited_by) == (
        8,
        "Harder than I said.",
        before.guardian,
    )
    pain = PainReport.objects.get()
    assert (str(pain.public_id), str(pain)) == (
        "5e1f0000-0000-4000-8000-000000000102",
        "left knee, 2 of 10",
    )
    assert pain.revision == before.at_home.slots.first().revision
    assert Question.objects.get().text == "Is a stool low enough?"
    ids = {json.loads(body)["id"] for body in BEFORE["inbox"]}
    assert {str(pk) for pk in Submission.objects.values_list("pk", flat=True)} == ids


def test_what_had_arrived_before_and_was_not_answered_is_not_written_again(before, client_for):
    """The coach has changed the log since: the phone, which sends it once more, does not."""
    for body in map(json.loads, BEFORE["inbox"]):
        Submission.objects.create(
            pk=body["id"],
            child=before.child,
            kind=body["kind"],
            state="written",
            by=before.guardian,
            received_at=YESTERDAY,
        )
    CompletionFactory(
        assigned_session=before.at_home,
        state="done",
        effort=9,
        logged_at=YESTERDAY,
        logged_by=before.guardian,
    )
    parent = client_for(before.guardian)
    for body in BEFORE["inbox"]:
        assert send(parent, body) == {"state": "written", "sentence": ""}
    assert (log_of(before.at_home).effort, log_of(before.logged).effort) == (9, 4)
    assert not PainReport.objects.exists()
    assert not Question.objects.exists()


def test_pain_that_was_reported_before_is_the_same_report_when_it_is_sent_again(before, client_for):
    body = next(body for body in BEFORE["inbox"] if '"pain"' in body)
    told = json.loads(body)["fields"]
    PainReport.objects.create(
        public_id=told["hurt_id"],
        child=before.child,
        assigned_session=before.at_home,
        region="knee",
        side="left",
        level=2,
        reported_at=YESTERDAY,
        reported_by=before.guardian,
    )
    assert send(client_for(before.guardian), body)["state"] == "written"
    assert PainReport.objects.get().reported_at == YESTERDAY


def test_a_groups_log_that_waited_on_a_tablet_is_written_once(before, client_for):
    key = f"fledge-group-{BEFORE['owners']['coach']}-910030"
    sent = json.loads(BEFORE["tablet"]["saved"][key])["sent"]
    coach, path = client_for(before.coach), "/sessions/910030/group/"
    for _ in range(2):
        form = "application/x-www-form-urlencoded"
        answer = coach.post(path, urlencode(dict(sent)), content_type=form, headers=HTMX)
        assert (answer.status_code, answer.headers["HX-Redirect"]) == (200, path)
    logs = Completion.objects.filter(assigned_session__session=910_030).order_by("effort")
    assert [(each.effort, each.edited_at) for each in logs] == [(6, None), (7, NOW)]
    assert str(PainReport.objects.get()) == "right ankle, 3 of 10"
    assert SessionNote.objects.get().text == "Cold hall, so we ran first."


# What a device keeps, and for whom


def told_to_scripts(page: str) -> dict[str, str]:
    return dict(re.findall(r'data-([a-z-]+)="([^"]*)"', page))


def test_a_device_still_knows_whose_it_is(before, client_for):
    guardian, coach = BEFORE["owners"]["guardian"], BEFORE["owners"]["coach"]
    parent, ids = client_for(before.guardian), [before.child.public_id, before.at_home.public_id]
    for name, its_ids in (("child_day", ids[:1]), ("session_day", ids), ("follow", ids)):
        page = parent.get(reverse(f"program:{name}", args=its_ids)).content.decode()
        assert set(re.findall('data-owner="([^"]*)"', page)) == {guardian}
    group = client_for(before.coach).get("/sessions/910030/group/").content.decode()
    told = told_to_scripts(group)
    assert (told["owner"], told["waiting-groups"]) == (coach, coach)
    assert told["group"] == f"{coach}-910030"


def test_a_sign_in_keeps_the_same_pages_under_the_same_name(before, client_for):
    """Sign-ins from before are gone; what is kept is named after a sign-in's key as it was."""
    told, client = BEFORE["sign_in"], client_for(before.guardian)
    kept = SessionStore(told["key"])
    kept.save(must_create=True)
    kept.update(client.session)
    kept.save()
    client.cookies["sessionid"] = told["key"]
    listed = client.get(BEFORE["offline"]["family"]["list"]).json()
    assert listed.pop("children") == [str(before.child.public_id)], "which a worker of then ignores"
    assert listed == told["kept"]


def test_the_worker_and_all_it_asks_for_are_where_a_device_looks_for_them(
    before, client, client_for
):
    told = BEFORE["offline"]
    day = reverse("program:child_day", args=[before.child.public_id])
    family = told_to_scripts(client_for(before.guardian).get(day).content.decode())
    assert family | told["family"] == family
    group = client_for(before.coach).get("/sessions/910030/group/").content.decode()
    assert told_to_scripts(group) | told["coach"] == told_to_scripts(group)
    worker = client.get(told["family"]["worker"])
    first = worker.content.decode().partition("\n")[0]
    knows = json.loads(first.removeprefix("const TOLD = ").removesuffix(";"))
    assert knows | told["worker"] == knows
    assert client.get(told["worker"]["offline"]).status_code == 200
    manifest = client.get("/manifest.webmanifest").json()
    assert manifest | told["manifest"] == manifest


def test_publishing_what_nobody_changed_gives_a_family_what_it_has(before, client_for):
    """A place kept in a session, and a log that waits, hold for one fingerprint."""
    plan = before.plan
    sent = {"version": plan.version, "session_version": plan.version}
    client_for(before.coach).post(f"/sessions/{plan.pk}/publish/", sent)
    fingerprints = AssignedSession.objects.filter(session=plan).values_list("fingerprint")
    assert list(fingerprints) == [(BEFORE["fingerprint"],)] * 2


# What is signed


@pytest.mark.parametrize("told", BEFORE["already_gone"], ids=lambda told: told["form"])
def test_a_page_that_was_open_takes_away_what_is_gone_as_if_it_were_done(before, client_for, told):
    coach = client_for(before.coach)
    names = re.findall('name="was" value="([^"]*)"', coach.get(told["page"]).content.decode())
    assert told["was"] in map(unescape, names)
    for rows in (Break, ExerciseNote, Slot):
        rows.objects.all().delete()
    sent = {"was": told["was"], "version": 1}
    answer = coach.post(told["form"], sent)
    assert (answer.status_code, answer.headers["Location"]) == (302, told["leads_to"])
    name = told["was"].partition(":")[0]
    assert f"“{name}”" in coach.get(answer.url).content.decode()


def test_a_figure_that_was_being_changed_is_saved_as_it_was_drafted(before, client_for):
    told = BEFORE["draft"]
    path = "/library/exercises/kept-step/figure/from/free-squat/"
    sent = {"base": 1, "pose": 1, "describe": "Down and up again.", "draft": told["draft"]}
    coach = client_for(before.coach)
    added = coach.post(f"{path}arrange/", sent | {"do": "copy-pose-1"})
    assert added.status_code == 200
    draft = unescape(re.search('name="draft" value="([^"]*)"', added.content.decode())[1])
    assert '"bottom 3"' in signing.loads(draft, salt="library.forms.drafts")
    assert coach.post(path, sent).status_code == 302
    exercise = Exercise.objects.select_related("current").get(slug="kept-step")
    assert exercise.current.movement == told["text"]
