import datetime as dt
import uuid

import pytest
from django.urls import reverse

from athletes.models import Invitation
from program.family.loaders import sessions_of
from program.log.logbook import LogEntry, write_log
from program.models import AssignedSession
from tests.support import consents
from tests.support.factories import ChildFactory, UserFactory
from tests.support.family import EVENING, WEDNESDAY, assign, give, text
from tests.support.invitations import come_in, invitations_in, link_in
from tests.support.work import work_off

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]

TUESDAY, SATURDAY = WEDNESDAY - dt.timedelta(days=1), WEDNESDAY + dt.timedelta(days=3)
OTHER = {
    "code": "restricted",
    "region": "wrist_hand",
    "side": "left",
    "kind": "no_loading",
    "instead": "Towel row",
}


def day(child, **query) -> str:
    address = reverse("program:child_day", args=[child.public_id])
    return f"{address}?{'&'.join(f'{k}={v}' for k, v in query.items())}" if query else address


def page_of(session, name="session_day") -> str:
    return reverse(f"program:{name}", args=[session.child.public_id, session.public_id])


def log(session, by, **said):
    entry = LogEntry(**({"state": "done"} | said))
    write_log(session, entry, by=by, now=EVENING, seen=session.mark)


def test_one_child_opens_at_once(cast, client_for):
    answer = client_for(cast.guardian).get(reverse("program:family"))
    assert answer.headers["location"] == day(cast.child)


def test_of_several_children_each_is_named_with_what_today_is(cast, client_for):
    ChildFactory(given_name="Nils", cohort=cast.cohort, guardian=cast.guardian)
    assign(cast.child, seconds=1320)
    read = text(client_for(cast.guardian).get(reverse("program:family")))
    assert "Mira Today: Strong steps, 22 minutes" in read
    assert "Nils Nothing today" in read


def test_of_several_children_one_with_a_free_day_is_named_with_what_comes_next(cast, client_for):
    nils = ChildFactory(given_name="Nils", cohort=cast.cohort, guardian=cast.guardian)
    assign(nils, SATURDAY, name="At the hall", seconds=2700)
    assign(nils, SATURDAY + dt.timedelta(days=2), name="Later")
    read = text(client_for(cast.guardian).get(reverse("program:family")))
    assert "Nils Saturday 7 November: At the hall, 45 minutes" in read
    assert "Later" not in read


def test_a_parent_without_a_child_is_told_what_to_do(cast, client_for):
    read = text(client_for(cast.nobody).get(reverse("program:family")))
    assert "No child here yet" in read
    assert "Ask their coach to invite you" in read


def test_a_coach_finds_own_children_there_and_not_the_cohort(cast, client_for):
    own = ChildFactory(given_name="Nils", guardian=cast.head_coach)
    answer = client_for(cast.head_coach).get(reverse("program:family"))
    assert answer.headers["location"] == day(own)


def test_the_day_says_what_today_is_how_long_and_what_to_have_ready(cast, client_for):
    assign(cast.child, TUESDAY, name="Before")
    today = assign(cast.child, seconds=1320, note="Barefoot, please.")
    give(today, "Sit to stand", revision__needs=[("a solid chair", ["dining-chair", "sofa"])])
    read = text(client_for(cast.guardian).get(day(cast.child)))
    assert "Wednesday 4 November, today · 2nd of two" in read
    assert "Strong steps" in read
    assert "Start — 22 minutes" in read
    assert "a solid chair" in read
    assert "Barefoot, please." in read
    assert "Tuesday Before, 20 minutes not logged yet" in read


def test_the_day_says_whose_it_is_where_no_choice_of_children_does(cast, client_for):
    assign(cast.child)
    for person in (cast.guardian, cast.coach):
        assert "Mira · Wednesday 4 November" in text(client_for(person).get(day(cast.child)))
    ChildFactory(given_name="Nils", cohort=cast.cohort, guardian=cast.guardian)
    read = text(client_for(cast.guardian).get(day(cast.child)))
    assert "Mira · Wednesday" not in read
    assert "Mira Nils" in read


def test_what_was_changed_for_this_child_is_said_with_its_reason(cast, client_for):
    today = assign(cast.child)
    give(today, "Sit to stand", reasons=[{"code": "as_written"}])
    give(today, "Towel row", place=1, outcome="other", reasons=[OTHER])
    read = text(client_for(cast.guardian).get(day(cast.child)))
    assert "Changed for Mira The left wrist or hand is being spared, so it is towel row" in read
    assert "what the coach wrote" not in read


def test_a_grown_up_is_told_which_exercises_to_watch(cast, client_for):
    today = assign(cast.child)
    give(today, "Drop landing", revision__watch=True)
    give(today, "Sit to stand", place=1)
    read = text(client_for(cast.guardian).get(day(cast.child)))
    assert "A grown-up watches Drop landing." in read


def test_a_free_day_says_what_comes_next(cast, client_for):
    assign(cast.child, SATURDAY, name="At the hall", place="venue", seconds=2700)
    read = text(client_for(cast.guardian).get(day(cast.child)))
    assert "Nothing today" in read
    assert "Next comes At the hall on Saturday 7 November: 45 minutes, at the venue" in read


def test_a_childs_sessions_come_in_the_order_of_their_days(cast):
    """Asked of the query: the order in which rows happen to lie would hide that none was asked."""
    assert sessions_of(cast.guardian, cast.child).ordered


def test_before_anything_is_published_the_day_says_so(cast, client_for):
    read = text(client_for(cast.guardian).get(day(cast.child)))
    assert "Nothing more has been published for Mira yet." in read


def test_a_day_of_the_week_before_is_reached_from_the_day(cast, client_for):
    last_week = assign(cast.child, WEDNESDAY - dt.timedelta(days=7), name="Last week")
    family = client_for(cast.guardian)
    here = family.get(day(cast.child)).content.decode()
    before = day(cast.child, day="2026-10-26")
    assert before in here
    there = family.get(before)
    assert "Wednesday Last week, 20 minutes not logged yet" in text(there)
    assert page_of(last_week) in there.content.decode()


@pytest.mark.parametrize("wrong", ["yesterday", "2026-13-01", "0001-01-01", "9999-12-31"])
def test_a_day_that_is_none_is_missing(cast, client_for, wrong):
    assert client_for(cast.guardian).get(day(cast.child, day=wrong)).status_code == 404


def test_of_two_sessions_on_a_day_the_one_not_logged_is_shown(cast, client_for):
    log(assign(cast.child, name="First"), cast.guardian)
    assign(cast.child, name="Second")
    read = text(client_for(cast.guardian).get(day(cast.child)))
    assert "· 2nd of two Second" in read
    assert "Wednesday First, 20 minutes done" in read


def test_a_past_session_asks_to_be_logged_first(cast, client_for):
    past = assign(cast.child, TUESDAY)
    body = client_for(cast.guardian).get(page_of(past)).content.decode()
    assert f'<a class="btn btn-big btn-wide btn-go" href="{page_of(past, "log")}">Log it' in body


def test_a_log_and_its_edit_show_who_and_when(cast, client_for):
    session = assign(cast.child)
    log(session, cast.guardian, effort=4)
    log(AssignedSession.objects.get(pk=session.pk), cast.coach, effort=5)
    read = text(client_for(cast.guardian).get(page_of(session)))
    assert "Logged: done, effort 5 of 10." in read
    assert "By Own Parent, Wednesday 4 November, 18:30; changed by Owning Coach" in read


def test_the_session_can_be_read_with_all_that_a_parent_needs(cast, client_for):
    session = assign(cast.child)
    give(session, "Skip on the spot", revision__measure="seconds", revision__tempo="", amount=15)
    give(
        session,
        "Slow step down",
        part=1,
        part_kind="superset",
        rounds=3,
        part_rest_seconds=45,
        amount=8,
        tempo="3-1-X-0",
        note="Left leg first this week.",
        revision__sides="each",
        revision__watch=True,
        revision__caution="With a sore bump below the kneecap, choose another one.",
        revision__needs=[("a solid step", ["low-step", "stairs"])],
        easier_revision=give(assign(cast.other_child), "Step down from a book").revision,
        easier_amount=6,
    )
    give(session, "Towel row", part=1, place=1, part_kind="superset", rounds=3)
    read = text(client_for(cast.guardian).get(page_of(session, "read")))
    for said in (
        "Skip on the spot 15 seconds",
        "Slow step down 8 each side, 3 s down, 1 s still, fast up",
        "Three rounds: one of each exercise, then again from the first. Rest 45 seconds",
        "Sit down slowly and stand up again.",
        "Left leg first this week.",
        "A grown-up watches this one.",
        "a solid step",
        "(low step or stairs)",
        "A chair with its back to the wall.",
        "“Sit like a feather”",
        "Knees fall in: “Show me your knees”",
        "The front of the thighs.",
        "Stop when a knee hurts. With a sore bump below the kneecap",
        "Too hard today? Step down from a book, 6 times",
    ):
        assert said in read


PAGES = ("program:session_day", "program:read", "program:log")


@pytest.mark.parametrize("name", PAGES)
def test_who_may_not_see_a_child_finds_nothing_at_any_of_its_addresses(cast, client_for, name):
    session = assign(cast.child)
    theirs = assign(cast.other_child)
    address = reverse(name, args=[cast.child.public_id, session.public_id])
    for person in (cast.guardian, cast.athlete, cast.coach, cast.head_coach):
        assert client_for(person).get(address).status_code == 200
    for person in (cast.other_guardian, cast.other_coach, cast.nobody):
        assert client_for(person).get(address).status_code == 404
    own = client_for(cast.guardian)
    for ids in (
        (cast.child.public_id, theirs.public_id),
        (cast.other_child.public_id, session.public_id),
        (cast.child.public_id, uuid.uuid4()),
    ):
        assert own.get(reverse(name, args=ids)).status_code == 404


def test_a_childs_day_is_seen_by_its_own_people_only(cast, client_for):
    for person in (cast.guardian, cast.athlete, cast.coach, cast.head_coach):
        assert client_for(person).get(day(cast.child)).status_code == 200
    for person in (cast.other_guardian, cast.other_coach, cast.nobody):
        assert client_for(person).get(day(cast.child)).status_code == 404


def fill(session, slots):
    for n in range(slots):
        need = [(f"thing {n}", [f"thing-{n}"])]
        give(session, f"Exercise {n}", part=n % 3, place=n, revision__needs=need)


@pytest.mark.parametrize("name", PAGES)
def test_a_familys_page_costs_the_same_queries_however_much_there_is(
    cast, client_for, name, django_assert_max_num_queries
):
    counts = []
    for slots, children, days in ((1, 1, 1), (12, 4, 6)):
        session = assign(cast.child, name=f"With {slots}")
        fill(session, slots)
        for n in range(children):
            ChildFactory(given_name=f"Kid{slots}{n}", cohort=cast.cohort, guardian=cast.guardian)
        for n in range(days):
            log(assign(cast.child, TUESDAY, name=f"Old {slots} {n}"), cast.guardian)
        family = client_for(cast.guardian)
        with django_assert_max_num_queries(17) as asked:
            assert family.get(reverse(name, args=[cast.child.public_id, session.public_id]))
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_the_list_of_children_and_a_free_day_cost_the_same_queries_at_two_sizes(
    cast, client_for, django_assert_max_num_queries
):
    counts = []
    for children in (2, 8):
        for n in range(children):
            kid = ChildFactory(given_name=f"Kid{children}{n}", cohort=cast.cohort)
            kid.guardianships.create(guardian=cast.guardian)
            assign(kid)
        family = client_for(cast.guardian)
        with django_assert_max_num_queries(17) as asked:
            family.get(reverse("program:family"))
            family.get(day(cast.child))
        counts.append(len(asked))
    assert counts[0] == counts[1]


def invite(cast, person, client_for, email="second.parent@example.org", child=None):
    address = reverse("program:invite_guardian", args=[(child or cast.child).public_id])
    return client_for(person).post(address, {"email": email})


def test_a_guardian_invites_a_second_one_of_that_child_only(cast, client_for, mailoutbox, client):
    assert invite(cast, cast.guardian, client_for).status_code == 302
    work_off()
    (mail,) = invitations_in(mailoutbox)
    come_in(client, link_in(mail), "Second Parent")
    assert cast.child.guardians.filter(name="Second Parent").exists()
    assert "Mira" not in mail.subject


def test_asked_twice_one_invitation_is_sent(cast, client_for, mailoutbox):
    invite(cast, cast.guardian, client_for)
    invite(cast, cast.guardian, client_for, email="Second.Parent@example.org")
    work_off()
    assert Invitation.objects.count() == len(invitations_in(mailoutbox)) == 1


def test_an_address_longer_than_any_is_refused_at_the_field(cast, client_for, mailoutbox):
    answer = invite(cast, cast.guardian, client_for, email=f"dad@{'long.' * 50}example.org")
    assert "An email address has at most 254 characters." in answer.content.decode()
    assert not mailoutbox


def test_who_already_sees_the_child_is_not_invited_again(cast, client_for, mailoutbox):
    answer = invite(cast, cast.guardian, client_for, email=cast.guardian.email.upper())
    assert "This person already sees your child here." in answer.content.decode()
    answer = invite(cast, cast.guardian, client_for, email="nonsense")
    assert "This is not an email address" in answer.content.decode()
    assert "nonsense" in answer.content.decode()
    assert not Invitation.objects.exists()


@pytest.mark.parametrize("who", ["other_guardian", "athlete", "coach", "head_coach", "nobody"])
def test_only_a_guardian_of_the_child_invites(cast, client_for, mailoutbox, who):
    assert invite(cast, getattr(cast, who), client_for).status_code == 404
    assert not mailoutbox


def test_a_guardian_who_also_has_a_sign_in_elsewhere_gains_only_this_child(
    cast, client_for, mailoutbox
):
    aunt = UserFactory(name="Aunt")
    invitation, _ = Invitation.objects.invite(
        aunt.email, "guardian", invited_by=cast.guardian, child=cast.child
    )
    invitation.accept(EVENING, visitor=aunt)
    consents.said(cast.child, aunt)
    assert client_for(aunt).get(day(cast.child)).status_code == 200
    assert client_for(aunt).get(day(cast.other_child)).status_code == 404
