import datetime as dt
import uuid

import pytest
from django.urls import reverse

from program.models import Completion, PainReport
from tests.support.factories import CompletionFactory
from tests.support.family import EVENING, WEDNESDAY, assign, give
from tests.support.markup import fields_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]


@pytest.fixture
def session(cast):
    """A session of one exercise on both sides, one each side with an easier option, one held."""
    session = assign(cast.child, seconds=1320)
    give(session, "Sit to stand")
    easier = give(assign(cast.other_child), "Step down from a book").revision
    give(
        session,
        "Slow step down",
        place=1,
        revision__sides="each",
        easier_revision=easier,
        easier_amount=6,
    )
    give(
        session,
        "Skip on the spot",
        part=1,
        revision__measure="seconds",
        revision__tempo="",
        amount=15,
    )
    return session


class Family:
    """Somebody with the log form of a session before them, as the browser sends it back."""

    def __init__(self, client, session):
        self.client = client
        ids = [session.child.public_id, session.public_id]
        self.address = reverse("program:log", args=ids)
        self.day = reverse("program:session_day", args=ids)
        self.fields = fields_of(client.get(self.address))

    def send(self, **said):
        fields = self.fields | {name.replace("__", "-"): value for name, value in said.items()}
        return self.client.post(self.address, fields)


KNEE = {"hurt": "yes", "hurt_region": "knee", "hurt_side": "left", "hurt_level": "4"}


@pytest.fixture
def family(cast, client_for, session):
    return Family(client_for(cast.guardian), session)


def errors(answer) -> str:
    assert answer.status_code == 200
    return answer.content.decode()


def test_two_taps_are_enough(family):
    assert family.fields["state"] == "done"
    assert family.fields["minutes"] == "22"
    answer = family.send(effort="4")
    assert answer.headers["location"] == family.day
    log = Completion.objects.get()
    assert (log.state, log.effort, log.minutes, log.enjoyment) == ("done", 4, 22, None)
    assert not log.results.exists()
    assert not PainReport.objects.exists()
    assert "Logged for Mira." in family.client.get(family.day).content.decode()


def test_what_was_told_of_each_exercise_is_kept_a_side_each_where_sided(family):
    family.send(
        state="some",
        p0s0__state="not",
        p0s1__amount_left="8",
        p0s1__amount_right="5",
        p1s0__amount="15",
    )
    results = Completion.objects.get().results
    told = results.values_list("state", "amount", "amount_left", "amount_right")
    assert list(told.order_by("assigned_slot")) == [
        ("not", None, None, None),
        ("some", None, 8, 5),
        ("done", 15, None, None),
    ]


def test_the_easier_option_counts_against_its_own_amount(family):
    family.send(p0s1__easier="on", p0s1__amount_left="6", p0s1__amount_right="6")
    (result,) = Completion.objects.get().results.all()
    assert (result.state, result.took_easier) == ("done", True)


def test_something_that_hurts_is_told_to_the_coach_and_the_caution_shows_at_once(
    family, cast, session
):
    page = family.client.get(family.address).content.decode()
    assert "Then stop here." in page
    assert "it is not medical advice" in page
    family.send(**KNEE, hurt_slot="p0s1", hurt_note="On the way down")
    report = PainReport.objects.get()
    assert (report.child, report.assigned_session) == (cast.child, session)
    assert (report.region, report.side, report.level) == ("knee", "left", 4)
    assert (report.revision.name, report.note) == (
        "Slow step down",
        "On the way down",
    )
    assert (report.reported_by, report.reported_at) == (cast.guardian, EVENING)
    day = family.client.get(family.day).content.decode()
    assert "Left knee, 4 of 10." in day
    assert "see a doctor or physiotherapist" in " ".join(day.split())


def test_what_hurts_is_heard_even_if_neither_yes_nor_no_was_chosen(family):
    assert "hurt" not in family.fields
    family.send(**(KNEE | {"hurt": ""}))
    assert PainReport.objects.count() == 1


def test_a_no_is_a_no(family):
    family.send(**(KNEE | {"hurt": "no"}))
    assert Completion.objects.exists()
    assert not PainReport.objects.exists()


def test_why_it_was_not_done_may_be_told_and_what_was_done_needs_no_excuse(family):
    page = family.client.get(family.address).content.decode()
    assert "Why not?" in page
    family.send(state="not", absence="sick", effort="4")
    log = Completion.objects.get()
    assert (log.state, log.absence, log.effort) == ("not", "sick", None)
    assert "Logged: sick" in family.client.get(family.day).content.decode()
    again = Family(family.client, log.assigned_session)
    assert again.fields["absence"] == "sick"
    again.send(state="done")
    log.refresh_from_db()
    assert (log.state, log.absence) == ("done", "")


def test_a_child_waited_for_in_vain_is_excused_once_its_family_says_why(
    family, cast, client_for, session
):
    CompletionFactory(assigned_session=session, state="not", absence="no_word", logged_at=EVENING)
    Family(client_for(cast.guardian), session).send(absence="away")
    assert Completion.objects.get().absence == "away"


def test_a_form_sent_twice_makes_one_log_and_one_report(family):
    family.send(effort="4", **KNEE)
    family.send(effort="4", **KNEE)
    assert Completion.objects.get().edited_at is None
    assert PainReport.objects.count() == 1


def test_a_report_whose_id_is_none_is_heard_all_the_same(family):
    family.send(**KNEE, hurt_id="not-an-id")
    assert PainReport.objects.count() == 1


def test_logging_again_starts_from_what_was_said_and_is_an_edit(family, cast, client_for, session):
    family.send(
        effort="4",
        enjoyment="5",
        minutes="19",
        note="Giggles",
        p0s1__amount_left="8",
        p0s1__easier="on",
    )
    again = Family(client_for(cast.athlete), session)
    kept = ("effort", "enjoyment", "minutes", "note", "p0s1-amount_left", "p0s1-easier")
    assert [again.fields[name] for name in kept] == ["4", "5", "19", "Giggles", "8", "on"]
    assert again.fields["hurt_id"] != family.fields["hurt_id"]
    again.send(effort="6")
    log = Completion.objects.get()
    assert (log.effort, log.note, log.logged_by) == (6, "Giggles", cast.guardian)
    assert (log.edited_by, log.edited_at) == (cast.athlete, EVENING)
    assert log.results.get().amount_left == 8


def test_a_second_parent_is_told_of_the_first_ones_log_and_nothing_is_lost(
    family, cast, client_for, session
):
    second = Family(client_for(cast.athlete), session)
    family.send(effort="4")
    answer = second.send(effort="9", note="My words", **KNEE)
    page = errors(answer)
    assert "Own Parent has logged this session meanwhile: done, effort 4 of 10." in page
    assert "My words" in page
    assert Completion.objects.get().effort == 4
    assert PainReport.objects.count() == 1
    second.fields = fields_of(answer)
    assert second.fields["effort"] == "9"
    assert second.send().status_code == 302
    log = Completion.objects.get()
    assert (log.effort, log.note, log.edited_by) == (9, "My words", cast.athlete)
    assert PainReport.objects.count() == 1


def test_a_session_published_anew_meanwhile_is_shown_and_nothing_is_lost(family, session):
    type(session).objects.filter(pk=session.pk).update(fingerprint="another")
    answer = family.send(effort="7", note="My words")
    assert "The coach changed this session while you were writing." in errors(answer)
    family.fields = fields_of(answer)
    assert (family.fields["effort"], family.fields["note"]) == ("7", "My words")
    assert family.send().status_code == 302
    assert Completion.objects.get().effort == 7


def test_an_error_elsewhere_does_not_let_somebody_write_over_what_they_have_not_seen(
    family, cast, client_for, session
):
    second = Family(client_for(cast.athlete), session)
    family.send(effort="4")
    second.fields = fields_of(second.send(effort="9", minutes="900"))
    assert "Own Parent has logged this session meanwhile" in errors(second.send(minutes="20"))
    assert Completion.objects.get().effort == 4


BAD = [
    ({"state": "finished"}, "Select a valid choice"),
    ({"state": ""}, "This field is required"),
    ({"state": "not", "absence": "no_word"}, "Select a valid choice"),
    ({"effort": "11"}, "Effort runs from 0 to 10."),
    ({"effort": "-1"}, "Effort runs from 0 to 10."),
    ({"effort": "lots"}, "Effort runs from 0 to 10."),
    ({"enjoyment": "6"}, "Enjoyment runs from 1 to 5."),
    ({"enjoyment": "0"}, "Enjoyment runs from 1 to 5."),
    ({"minutes": "0"}, "A session lasts between 1 and 240 minutes."),
    ({"minutes": "900"}, "A session lasts between 1 and 240 minutes."),
    ({"minutes": "-5"}, "A session lasts between 1 and 240 minutes."),
    ({"minutes": "half an hour"}, "“half an hour” is not a whole number."),
    ({"note": "x" * 1001}, "at most 1000 characters"),
    ({"p0s0-amount": "900"}, "Write the repetitions of one round: 0 to 60."),
    ({"p0s0-amount": "-1"}, "Write the repetitions of one round: 0 to 60."),
    ({"p0s1-amount_right": "99999999999"}, "Write the repetitions of one round: 0 to 60."),
    ({"p1s0-amount": "601"}, "Write the seconds of one round: 0 to 600."),
    ({"p0s0-state": "not", "p0s0-amount": "8"}, "You said it was not done."),
    ({"p0s0-state": "perhaps"}, "Select a valid choice"),
    (KNEE | {"hurt_level": "0"}, "How much it hurts runs from 1 to 10."),
    (KNEE | {"hurt_level": "11"}, "How much it hurts runs from 1 to 10."),
    (KNEE | {"hurt_level": ""}, "Say how much, from 1 to 10."),
    (KNEE | {"hurt_region": ""}, "Say where it hurts, or what is wrong."),
    (KNEE | {"hurt_region": "soul"}, "Select a valid choice"),
    (KNEE | {"hurt_side": ""}, "Say on which side."),
    (KNEE | {"hurt_slot": "p9s9"}, "Select a valid choice"),
    (KNEE | {"hurt_note": "x" * 301}, "at most 300 characters"),
]


def test_a_log_cannot_be_dated_tomorrow_because_it_carries_no_date_of_its_own(cast, client_for):
    """The server's clock says when; a session of tomorrow that was done today was logged today."""
    tomorrow = EVENING + dt.timedelta(days=1)
    session = assign(cast.child, tomorrow.date())
    give(session, "Sit to stand")
    said = {name: tomorrow.isoformat() for name in ("logged_at", "date", "at", "started_at")}
    assert Family(client_for(cast.guardian), session).send(**said).status_code == 302
    assert Completion.objects.get().logged_at == EVENING


@pytest.mark.parametrize(("wrong", "message"), BAD, ids=lambda value: str(value)[:40])
def test_bad_input_gets_a_plain_message_changes_nothing_and_loses_nothing(family, wrong, message):
    said = {"note": "My words", "enjoyment": "5", "p0s1-amount_left": "7"} | wrong
    answer = family.send(**said)
    assert message in errors(answer)
    assert not Completion.objects.exists()
    assert not PainReport.objects.exists()
    shown = fields_of(answer)
    for name in ("note", "p0s1-amount_left", "minutes", "p0s0-amount", "hurt_note"):
        assert shown[name] == (family.fields | said)[name]


def test_whoever_may_not_see_the_child_logs_nothing(cast, client_for, session, family):
    for person in (cast.other_guardian, cast.other_coach, cast.nobody):
        assert client_for(person).post(family.address, family.fields).status_code == 404
    mixed = reverse("program:log", args=[cast.other_child.public_id, session.public_id])
    assert client_for(cast.other_guardian).post(mixed, family.fields).status_code == 404
    missing = reverse("program:log", args=[cast.child.public_id, uuid.uuid4()])
    assert family.client.post(missing, family.fields).status_code == 404
    assert not Completion.objects.exists()


def test_the_coach_logs_for_a_child_and_comes_back_to_the_review(cast, client_for, session):
    coach = Family(client_for(cast.coach), session)
    answer = coach.send(effort="5")
    assert answer.headers["location"] == reverse(
        "program:child_review", args=[cast.child.public_id]
    )
    assert Completion.objects.get().logged_by == cast.coach


def test_a_session_of_another_day_can_be_logged_too(cast, client_for):
    early = assign(cast.child, WEDNESDAY.replace(day=1))
    assert Family(client_for(cast.guardian), early).send().status_code == 302
