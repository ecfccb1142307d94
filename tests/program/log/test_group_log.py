"""A session logged for the whole group at once."""

import datetime as dt
import re

import pytest
from django.test import Client
from django.urls import reverse

from athletes.models import HealthView
from program.models import Completion, PainReport, Session, SessionNote, SlotResult
from tests.support.factories import (
    AssignedSessionFactory,
    BlockFactory,
    ChildFactory,
    CompletionFactory,
    SessionFactory,
)
from tests.support.family import EVENING, WEDNESDAY, give, text
from tests.support.markup import fields_of, markup
from tests.support.planning import HTMX, queries_of
from tests.support.queue import waiting
from tests.support.together import together

pytestmark = pytest.mark.usefixtures("evening")

NAMES = ("Ada", "Bo", "Cleo")
KNEE = {"hurt": "yes", "hurt_region": "knee", "hurt_side": "left", "hurt_level": "4"}


def group_session(cohort, names=NAMES, date=WEDNESDAY, guardian=None):
    """A published session at the venue, of 22 minutes, for a child of each name."""
    published = {"published_at": EVENING, "published_version": 1}
    block = BlockFactory(cohort=cohort)
    session = SessionFactory(block=block, date=date, place="venue", **published)
    for name in names:
        child = ChildFactory(given_name=name, cohort=cohort, guardian=guardian)
        give(AssignedSessionFactory(session=session, child=child, seconds=1320), f"Squat of {name}")
    return session


class Tablet:
    """A coach with the group's log before them, as the browser sends it back."""

    def __init__(self, client, session):
        self.client = client
        self.address = reverse("program:group_log", args=[session.pk])
        self.lines = {
            each.child.given_name: str(each.child.public_id) for each in session.assigned.all()
        }
        self.fields = fields_of(client.get(self.address))

    def fill(self, **said):
        """`Ada={"presence": "there"}` taps in Ada's line; `minutes=` is the group's."""
        sent = dict(self.fields)
        for name, what in said.items():
            line = self.lines.get(name)
            sent |= {f"{line}-{field}": v for field, v in what.items()} if line else {name: what}
        return sent

    def send(self, htmx=False, **said):
        return self.client.post(self.address, self.fill(**said), headers=HTMX if htmx else {})


@pytest.fixture
def session(cast):
    return group_session(cast.cohort, guardian=cast.guardian)


@pytest.fixture
def tablet(cast, client_for, session):
    return Tablet(client_for(cast.coach), session)


def logs() -> dict[str, Completion]:
    found = Completion.objects.select_related("assigned_session__child")
    return {each.assigned_session.child.given_name: each for each in found}


THERE = {"presence": "there"}


@pytest.mark.django_db
def test_everybody_is_written_at_once_and_who_is_left_open_is_not(tablet, cast):
    answer = tablet.send(
        Ada={"presence": "there", "effort": "4"}, Bo={"presence": "sick", "effort": "9"}
    )
    assert answer.headers["location"] == tablet.address
    written = logs()
    assert written.keys() == {"Ada", "Bo"}
    ada, bo = written["Ada"], written["Bo"]
    assert (ada.state, ada.effort, ada.minutes, ada.logged_by) == ("done", 4, 22, cast.coach)
    assert (bo.state, bo.absence, bo.effort, bo.minutes) == ("not", "sick", None, None)
    assert ada.assigned_session.started_at == EVENING
    assert bo.assigned_session.started_at is None
    page = text(tablet.client.get(tablet.address))
    assert "Saved: 1 there, 1 sick, 1 left open." in page


@pytest.mark.django_db
def test_as_planned_fills_in_who_was_not_spoken_of_and_saves_nothing(tablet):
    answer = tablet.send(as_planned="1", Bo={"presence": "away"})
    assert not Completion.objects.exists()
    tablet.fields = fields_of(answer)
    tablet.send(Cleo={"less": "on", "effort": "7"})
    told = {name: (log.state, log.absence, log.effort) for name, log in logs().items()}
    assert told == {
        "Ada": ("done", "", None),
        "Bo": ("not", "away", None),
        "Cleo": ("some", "", 7),
    }


@pytest.mark.django_db
def test_an_effort_or_less_alone_says_that_a_child_was_there(tablet):
    tablet.send(Ada={"effort": "3"}, Bo={"less": "on"})
    assert {name: log.state for name, log in logs().items()} == {"Ada": "done", "Bo": "some"}


@pytest.mark.django_db
def test_what_hurts_reaches_the_queue_as_a_familys_report_does(tablet, cast, session):
    page = markup(tablet.client.get(tablet.address))
    assert page.count("Then stop here.") == len(NAMES) + 1  # and the cast's own child
    assert "it is not medical advice" in page
    tablet.send(Ada=KNEE | {"hurt_slot": "p0s0"})
    report = PainReport.objects.get()
    assert (report.child.given_name, report.region, report.level) == ("Ada", "knee", 4)
    assert report.revision.name == "Squat of Ada"
    assert logs()["Ada"].state == "done"
    assert [each.headline for each in waiting(cast.coach, "pain")] == [
        "Left knee, 4 of 10, on Squat of Ada"
    ]


@pytest.mark.django_db
def test_sent_twice_it_is_written_once(tablet):
    said = {"Ada": {"presence": "there", "effort": "4"} | KNEE, "Bo": {"presence": "away"}}
    tablet.send(**said)
    tablet.send(**said)
    assert {log.edited_at for log in logs().values()} == {None}
    assert PainReport.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_sent_twice_at_the_same_moment_it_is_written_once(tablet):
    sent = tablet.fill(Ada=THERE | KNEE, Bo=THERE, Cleo=THERE)
    again = Client()
    again.cookies = tablet.client.cookies
    answers = together(
        lambda: tablet.client.post(tablet.address, sent).status_code,
        lambda: again.post(tablet.address, sent).status_code,
    )
    assert answers == [302, 302]
    assert Completion.objects.filter(edited_at=None).count() == 3
    assert PainReport.objects.count() == 1


@pytest.mark.django_db
def test_two_coaches_do_not_write_over_each_other_unseen_and_nothing_typed_is_lost(
    tablet, cast, client_for, session
):
    second = Tablet(client_for(cast.head_coach), session)
    tablet.send(Ada={"presence": "sick"}, Bo={"presence": "there", "effort": "5"})
    said = {
        "Ada": THERE | {"effort": "8", "note": "Came late"},
        "Bo": THERE | {"effort": "5"},
        "Cleo": THERE,
    }
    answer = second.send(**said)
    assert answer.status_code == 409
    page = markup(answer)
    assert "Owning Coach has logged this session meanwhile: sick." in page
    assert page.count("has logged this session meanwhile") == 1
    assert logs().keys() == {"Ada", "Bo"}
    again = fields_of(answer)
    assert again[f"{second.lines['Ada']}-note"] == "Came late"
    second.fields = again
    assert second.send().status_code == 302
    ada = logs()["Ada"]
    assert (ada.state, ada.effort, ada.edited_by) == ("done", 8, cast.head_coach)
    assert logs()["Cleo"].state == "done"


def later(monkeypatch):
    five_minutes = dt.timedelta(minutes=5)
    monkeypatch.setattr("django.utils.timezone.now", lambda: EVENING + five_minutes)


@pytest.mark.django_db
def test_a_line_that_a_second_tablet_did_not_touch_takes_what_the_first_has_corrected(
    tablet, cast, client_for, session, monkeypatch
):
    tablet.send(Ada=THERE | {"effort": "5"}, Bo=THERE)
    first, second = tablet, Tablet(client_for(cast.head_coach), session)
    first.fields = fields_of(first.client.get(first.address))
    # Ada was sick after all; the second tablet, which shows her as there, says something of Cleo.
    later(monkeypatch)
    first.send(Ada={"presence": "sick", "effort": ""})
    assert second.send(Cleo=THERE).status_code == 302
    assert logs()["Ada"].absence == "sick"
    assert logs()["Cleo"].state == "done"


@pytest.mark.django_db
def test_after_a_refusal_an_untouched_line_shows_the_newer_value_and_saving_again_leaves_it(
    tablet, cast, client_for, session, monkeypatch
):
    tablet.send(Ada=THERE | {"effort": "5"}, Bo=THERE)
    first, second = tablet, Tablet(client_for(cast.head_coach), session)
    first.fields = fields_of(first.client.get(first.address))
    later(monkeypatch)
    first.send(Ada={"presence": "sick", "effort": ""}, Bo={"presence": "away"})
    answer = second.send(Bo=THERE | {"effort": "8"})
    assert answer.status_code == 409
    assert markup(answer).count("has logged this session meanwhile") == 1
    second.fields = fields_of(answer)
    assert second.fields[f"{second.lines['Ada']}-presence"] == "sick"
    assert second.send().status_code == 302
    assert (logs()["Ada"].absence, logs()["Bo"].effort) == ("sick", 8)


@pytest.mark.django_db
def test_other_minutes_of_the_group_are_written_to_whom_nobody_has_corrected_meanwhile(
    tablet, cast, client_for, session, monkeypatch
):
    tablet.send(Ada=THERE, Bo=THERE)
    first, second = tablet, Tablet(client_for(cast.head_coach), session)
    first.fields = fields_of(first.client.get(first.address))
    later(monkeypatch)
    first.send(Ada={"presence": "sick"})
    second.send(minutes="30")
    assert (logs()["Ada"].absence, logs()["Bo"].minutes) == ("sick", 30)


@pytest.mark.django_db
def test_what_a_family_told_of_each_exercise_and_its_own_minutes_stay(tablet, session):
    ada = session.assigned.get(child__given_name="Ada")
    log = CompletionFactory(
        assigned_session=ada, state="done", effort=4, enjoyment=5, minutes=31, logged_at=EVENING
    )
    SlotResult.objects.create(completion=log, assigned_slot=ada.slots.get(), state="done", amount=9)
    CompletionFactory(
        assigned_session=session.assigned.get(child__given_name="Bo"),
        state="not",
        note="Grandma",
        logged_at=EVENING,
    )
    fresh = Tablet(tablet.client, session)
    assert fresh.fields["minutes"] == "31"
    fresh.fields["minutes"] = "31"
    fresh.send(Cleo=THERE)
    assert [each.edited_at for each in logs().values()] == [None] * 3
    Tablet(tablet.client, session).send(Ada={"effort": "6"}, minutes="25")
    after = logs()["Ada"]
    assert (after.effort, after.enjoyment, after.edited_at) == (6, 5, EVENING)
    assert after.results.get().amount == 9
    assert (logs()["Bo"].absence, logs()["Bo"].edited_at) == ("", None)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("line", "message"),
    [
        ({"effort": "11"}, "Effort runs from 0 to 10."),
        ({"presence": "asleep"}, "Select a valid choice"),
        ({"note": "Her mother rang"}, "Say first whether this child was there."),
        ({"presence": "there", "note": "x" * 1001}, "at most 1000 characters"),
        (THERE | KNEE | {"hurt_level": ""}, "Say how much, from 1 to 10."),
        (THERE | KNEE | {"hurt_region": ""}, "Say where it hurts, or what is wrong."),
    ],
)
def test_one_wrong_line_is_marked_nobody_is_written_and_nothing_is_lost(tablet, line, message):
    answer = tablet.send(Ada=line, Bo=THERE | {"effort": "2"})
    assert answer.status_code == 422
    page = markup(answer)
    assert message in page
    assert page.count("is-wrong") == 1
    assert not Completion.objects.exists()
    assert not PainReport.objects.exists()
    assert fields_of(answer)[f"{tablet.lines['Bo']}-effort"] == "2"


@pytest.mark.django_db
@pytest.mark.parametrize("minutes", ["0", "900", "long"])
def test_minutes_that_cannot_be_are_refused_in_a_sentence(tablet, minutes):
    answer = tablet.send(Ada=THERE, minutes=minutes)
    assert "A session lasts between 1 and 240 minutes." in markup(answer)
    assert not Completion.objects.exists()


@pytest.mark.django_db
def test_htmx_gets_the_form_anew_where_it_is_refused_and_is_led_on_where_it_is_not(tablet):
    refused = tablet.send(htmx=True, Ada={"effort": "11"})
    assert refused.status_code == 422
    assert b"<html" not in refused.content
    assert tablet.send(htmx=True, Ada=THERE).headers["HX-Redirect"] == tablet.address


@pytest.mark.django_db
def test_every_child_of_the_cohort_that_day_has_a_line_also_without_the_session(
    tablet, cast, session
):
    waits, rests = (ChildFactory(given_name=n, cohort=cast.cohort) for n in ("Dio", "Eve"))
    rests.restrictions.create(region="", kind="nothing", start=WEDNESDAY, until=WEDNESDAY)
    ChildFactory(given_name="Gus", cohort=cast.other_cohort)
    page = text(tablet.client.get(tablet.address))
    taps = "there sick away absent, no notice hurt"
    assert f"{waits} {taps}" in page
    assert f"{rests} {taps}" in page
    assert "Did not get it: something in it is yours to choose first" in page
    assert "Does nothing for now: see why" in page
    assert "Gus" not in page
    assert HealthView.objects.filter(child=rests).exists()
    assert not HealthView.objects.filter(child=waits).exists()


@pytest.mark.django_db
def test_a_session_of_tomorrow_is_not_logged_today(cast, client_for):
    session = group_session(cast.cohort, date=WEDNESDAY + dt.timedelta(days=1))
    client = client_for(cast.coach)
    address = reverse("program:group_log", args=[session.pk])
    day = session.date.strftime("%A %-d %B")
    assert f"It can be saved from {day} on." in text(client.get(address))
    tablet = Tablet(client, session)
    answer = tablet.send(Ada=THERE | {"note": "Looks forward to it"}, session_note=ALL)
    assert answer.status_code == 422
    page = markup(answer)
    assert f"It can be saved from {day} on." in page
    assert "Looks forward to it" in page
    assert not Completion.objects.exists()
    assert not SessionNote.objects.exists()


@pytest.mark.django_db
def test_the_week_leads_to_the_group_of_a_session_at_the_venue_and_a_few_days_ahead(
    cast, client_for, session
):
    soon = group_session(cast.cohort, ["Dio"], WEDNESDAY + dt.timedelta(days=3))
    later = group_session(cast.cohort, ["Eve"], WEDNESDAY + dt.timedelta(days=4))
    draft = group_session(cast.cohort, ["Fay"])
    Session.objects.filter(pk=draft.pk).update(published_at=None)
    page = markup(client_for(cast.coach).get(reverse("program:week")))
    address, ahead = (reverse("program:group_log", args=[each.pk]) for each in (session, soon))
    assert f'{address}"> Log the group <' in page
    assert f'{ahead}"> The group’s page <' in page
    for each in (later, draft):
        assert reverse("program:group_log", args=[each.pk]) not in page


@pytest.mark.django_db
def test_a_larger_group_takes_no_more_queries(cast, client_for):
    client = client_for(cast.coach)
    counts = [
        queries_of(client, reverse("program:group_log", args=[each.pk]))
        for each in (
            group_session(cast.cohort, ["Ada"]),
            group_session(cast.cohort, [f"Kid {n}" for n in range(24)]),
        )
    ]
    assert counts[0] == counts[1] <= 15


@pytest.mark.django_db
def test_saving_a_larger_group_takes_no_more_statements(
    cast, client_for, django_assert_max_num_queries
):
    session = group_session(cast.cohort, [f"Kid {n}" for n in range(24)])
    tablet = Tablet(client_for(cast.coach), session)
    with django_assert_max_num_queries(30):
        tablet.send(**dict.fromkeys(tablet.lines, THERE))
    assert Completion.objects.count() == 24


ALL = "Wet floor, so we jumped on mats."


@pytest.mark.django_db
def test_one_note_on_the_session_is_kept_with_who_and_when_and_read_where_it_is_reviewed(
    tablet, cast, session, client_for
):
    tablet.send(session_note=ALL, Ada=THERE)
    note = SessionNote.objects.get()
    assert (note.text, note.written_by, note.written_at) == (ALL, cast.coach, EVENING)
    page = text(tablet.client.get(tablet.address))
    assert "Saved: 1 there, 2 left open, your note." in page
    assert f"by {cast.coach}" in page
    head = client_for(cast.head_coach)
    ada = session.assigned.get(child__given_name="Ada")
    review = reverse("program:session_review", args=[ada.child.public_id, ada.public_id])
    week = reverse("program:week")
    for address in (review, f"{week}?of={WEDNESDAY}"):
        assert ALL in text(head.get(address))


@pytest.mark.django_db
def test_no_family_reads_the_note_on_the_session(tablet, cast, session, client_for):
    tablet.send(session_note=ALL, Ada=THERE)
    child = session.assigned.get(child__given_name="Ada").child
    family = client_for(cast.guardian)
    day = reverse("program:child_day", args=[child.public_id])
    links = set(re.findall(rf'href="({day}[^"#]*)"', markup(family.get(day))))
    assert len(links) > 2
    for address in (day, *links):
        assert ALL not in markup(family.get(address))
    assert not SessionNote.objects.visible_to(cast.guardian).exists()
    assert not SessionNote.objects.visible_to(cast.other_coach).exists()


@pytest.mark.django_db
def test_a_note_alone_can_be_saved_changed_and_taken_away(tablet, cast, session, client_for):
    tablet.send(session_note=ALL)
    assert not Completion.objects.exists()
    second = Tablet(client_for(cast.head_coach), session)
    assert second.fields["session_note"] == ALL
    second.send(session_note="Dry again.")
    note = SessionNote.objects.get()
    assert (note.text, note.written_by, note.edited_by) == (
        "Dry again.",
        cast.coach,
        cast.head_coach,
    )
    Tablet(tablet.client, session).send(session_note=" ")
    assert not SessionNote.objects.exists()


@pytest.mark.django_db
def test_a_note_somebody_else_wrote_meanwhile_is_not_written_over_unread(
    tablet, cast, session, client_for
):
    second = Tablet(client_for(cast.head_coach), session)
    tablet.send(session_note=ALL)
    answer = second.send(session_note="All went well.", Ada=THERE)
    assert answer.status_code == 409
    page = markup(answer)
    assert f"Owning Coach has written meanwhile: “{ALL}”" in page
    assert not Completion.objects.exists()
    second.fields = fields_of(answer)
    assert second.fields["session_note"] == "All went well."
    assert second.send().status_code == 302
    assert SessionNote.objects.get().text == "All went well."
    assert logs().keys() == {"Ada"}


@pytest.mark.django_db
def test_a_group_saved_twice_with_its_note_has_one_unedited_note(tablet):
    said = tablet.fill(session_note=ALL, Ada=THERE)
    for _ in range(2):
        assert tablet.client.post(tablet.address, said).status_code == 302
    assert SessionNote.objects.get().edited_at is None


@pytest.mark.django_db
def test_a_note_that_is_too_long_is_refused_and_stays_in_its_field(tablet):
    answer = tablet.send(session_note="x" * 1001, Ada=THERE)
    assert answer.status_code == 422
    assert "x" * 1001 in markup(answer)
    assert not SessionNote.objects.exists()
    assert not Completion.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_two_first_notes_at_the_same_moment_are_one_and_a_refusal(
    tablet, cast, session, client_for
):
    second = Tablet(client_for(cast.head_coach), session)
    answers = together(
        lambda: tablet.send(session_note="Note 0").status_code,
        lambda: second.send(session_note="Note 1").status_code,
    )
    assert sorted(answers) == [302, 409]
    assert SessionNote.objects.count() == 1
