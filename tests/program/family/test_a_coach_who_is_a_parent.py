"""Somebody is coach and parent with one address: as a parent of the own child alone, whatever else
their account may do."""

import datetime as dt
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.consent_texts import TEXTS
from athletes.loaders import children_of, families_of
from athletes.models import Consent, Guardianship, Invitation
from program.models import ChildCopy, Completion, Erasure, Question, Resolution
from program.privacy.copies import make_copy
from tests.support.consents import said
from tests.support.factories import (
    BlockFactory,
    ChildFactory,
    SessionFactory,
    UserFactory,
)
from tests.support.family import EVENING, WEDNESDAY, assign, text
from tests.support.pain import knee, report

pytestmark = pytest.mark.django_db

FAMILY_PAGES = (
    "program:child_data",
    "program:health_views",
    "program:ask_to_erase",
    "program:invite_guardian",
    "athletes:own_sign_in",
    "athletes:growth",
    "athletes:kit",
)


@pytest.fixture(params=["other_coach", "head_coach"])
def parent(request, cast):
    """A coach of other children, or of all, who is the guardian of one."""
    coach = getattr(cast, request.param)
    Guardianship.objects.create(child=cast.child, guardian=coach)
    return coach


def statuses(client, child):
    return {name: client.get(page(name, child)).status_code for name in FAMILY_PAGES}


def page(name, child, *more):
    return reverse(name, args=[child.public_id, *more])


def test_the_pages_of_the_own_child_open_and_those_of_another_do_not(cast, client_for):
    Guardianship.objects.create(child=cast.child, guardian=cast.other_coach)
    coach = client_for(cast.other_coach)
    assert statuses(coach, cast.child) == dict.fromkeys(FAMILY_PAGES, 200)
    # A child of the own cohort is a child to coach, and no more.
    own = statuses(coach, cast.other_child)
    assert own.pop("athletes:growth") == own.pop("athletes:kit") == 200
    assert set(own.values()) == {404}


def test_consents_copies_and_wishes_are_taken(cast, client_for, parent):
    coach, child = client_for(parent), cast.child
    read = {f"{purpose}_text": text.version for purpose, text in TEXTS.items()}
    coach.post(page("athletes:answer_consents", child), {"measurements": "yes"} | read)
    assert Consent.objects.get(child=child, answered_by=parent).given
    coach.post(page("program:invite_guardian", child), {"email": "gran@example.org"})
    assert Invitation.objects.filter(child=child, invited_by=parent).exists()
    coach.post(page("program:ask_for_copy", child))
    copy = ChildCopy.objects.get(asked_by=parent)
    make_copy.func(copy.pk, "https://club.example")
    fetched = page("program:fetch_copy", child, copy.public_id)
    assert coach.post(fetched).status_code == 200
    coach.post(page("program:ask_to_erase", child), {"yes": "yes"})
    erasure = Erasure.objects.get(child=child)
    assert (erasure.asked_by, erasure.why) == (parent, Erasure.Why.ASKED)
    coach.post(page("program:take_back_erasing", child))
    erasure.refresh_from_db()
    assert erasure.ended_at


def test_the_way_there_stands_on_the_page_of_what_is_held(cast, client_for, parent):
    coach = client_for(parent)
    held = coach.get(reverse("program:privacy")).content.decode()
    assert page("program:child_data", cast.child) in held
    assert page("program:child_data", cast.other_child) not in held
    said(cast.child, parent)
    day = coach.get(page("program:child_day", cast.child)).content.decode()
    assert page("athletes:growth", cast.child) in day
    assert reverse("program:calendar_address") in day


def test_a_calendar_is_for_whoever_has_a_child_here(cast, client_for, parent):
    address = reverse("program:calendar_address")
    assert client_for(parent).get(address).status_code == 200
    assert client_for(parent).post(address).status_code == 302
    assert parent.calendar_feed.made_at <= timezone.now()
    assert client_for(cast.coach).get(address).status_code == 404


# The two sides


def head(answer) -> str:
    """The bar above a page."""
    assert answer.status_code == 200
    (found,) = re.findall(r"<header class=\"bar.*?</header>", answer.content.decode(), flags=re.S)
    return str(found)


COACHING, FAMILY = "Coaching</a>", "My family</a>"


@pytest.mark.usefixtures("evening")
def test_the_head_of_each_page_is_that_of_its_side_and_leads_to_the_other(cast, client_for, parent):
    session = assign(cast.child)
    said(cast.child, parent)
    coach = client_for(parent)
    of_the_child = [*FAMILY_PAGES, "program:child_day", "program:family_reports"]
    of_the_child += ["athletes:restrictions", "athletes:consents"]
    of_the_session = ["session_day", "read", "log", "ask", "kept_logs"]
    pages = [page(name, cast.child) for name in of_the_child]
    pages += [page(f"program:{name}", cast.child, session.public_id) for name in of_the_session]
    for each in [*pages, reverse("program:calendar_address")]:
        bar = head(coach.get(each))
        assert "bar-family" in bar, each
        assert reverse("program:week") in bar, each
        assert COACHING in bar, each
        assert "Blocks" not in bar, each
        assert reverse("program:calendar_address") in bar, each
    for name in ("program:week", "program:review", "athletes:children", "athletes:mail_setting"):
        bar = head(coach.get(reverse(name)))
        assert "bar-coach" in bar, name
        assert f'href="{reverse("program:family")}"' in bar, name
        assert FAMILY in bar, name


@pytest.mark.usefixtures("evening")
def test_a_child_that_is_coached_stays_on_the_coachs_side(cast, client_for, parent):
    session = assign(cast.other_child)
    coach = client_for(parent)
    for address in (
        page("program:child_day", cast.other_child),
        page("program:log", cast.other_child, session.public_id),
        page("athletes:kit", cast.other_child),
        page("athletes:growth", cast.other_child),
    ):
        bar = head(coach.get(address))
        assert "bar-coach" in bar, address
        assert COACHING not in bar, address
        assert cast.child.given_name not in bar, address


def test_whoever_is_no_parent_or_no_coach_finds_one_side(cast, client_for):
    assert FAMILY not in head(client_for(cast.coach).get(reverse("program:week")))
    day = client_for(cast.guardian).get(page("program:child_day", cast.child))
    assert COACHING not in head(day)


def test_of_several_own_children_each_is_named_and_nobody_elses(cast, client_for, parent):
    nils = ChildFactory(given_name="Nils", cohort=cast.other_cohort, guardian=parent)
    said(cast.child, parent)
    coach = client_for(parent)
    answer = coach.get(reverse("program:family"))
    assert "bar-family" in head(answer)
    read = answer.content.decode()
    for child, is_there in ((cast.child, True), (nils, True), (cast.other_child, False)):
        assert (page("program:child_day", child) in read) is is_there
    chips = head(coach.get(page("program:child_day", cast.child)))
    for child, is_there in ((cast.child, True), (nils, True), (cast.other_child, False)):
        assert (page("program:child_day", child) in chips) is is_there


def test_who_has_taken_over_and_lets_nobody_read_on_is_no_child_of_the_family_any_more(
    cast, client_for
):
    """A head coach sees everybody, and is family of none but those who let them be."""
    grown = ChildFactory(
        given_name="Nils",
        birth_date=dt.date(2000, 1, 1),
        guardian=cast.head_coach,
        user=UserFactory(name="Grown Up", role="athlete"),
    )
    assert children_of(cast.head_coach) == []
    day = client_for(cast.head_coach).get(page("program:child_day", grown))
    assert "bar-coach" in head(day)
    Guardianship.objects.update(reads_on=True)
    assert children_of(cast.head_coach) == [grown]


# As a parent does


@pytest.mark.usefixtures("evening")
def test_what_is_logged_as_a_parent_is_the_familys_log_and_leads_back_to_its_day(
    cast, client_for, parent
):
    session = assign(cast.child)
    address = page("program:log", cast.child, session.public_id)
    coach = client_for(parent)
    seen = re.search(r'name="seen" value="([^"]*)"', coach.get(address).content.decode())
    assert seen
    answer = coach.post(address, {"state": "done", "effort": "4", "seen": seen[1]})
    assert answer.headers["location"] == page("program:session_day", cast.child, session.public_id)
    assert Completion.objects.get(assigned_session=session).logged_by == parent


def test_what_is_said_of_the_own_home_leads_back_to_the_family(cast, client_for, parent):
    answer = client_for(parent).post(page("athletes:kit", cast.child), {"nothing": "on"})
    assert answer.headers["location"] == reverse("program:family")


@pytest.mark.usefixtures("evening")
def test_a_phone_keeps_the_own_childs_week_and_the_groups_logs(cast, client_for):
    Guardianship.objects.create(child=cast.child, guardian=cast.other_coach)
    session = assign(cast.child)
    hall = SessionFactory(
        block=BlockFactory(cohort=cast.other_cohort),
        date=WEDNESDAY,
        place="venue",
        published_at=EVENING,
    )
    told = client_for(cast.other_coach).get(reverse("program:to_keep")).json()
    assert reverse("program:group_log", args=[hall.pk]) in told["pages"]
    assert page("program:follow", cast.child, session.public_id) in told["pages"]
    assert reverse("program:family") in told["pages"]
    assert str(cast.child.public_id) in told["children"]
    # Where a coach begins is the week, which no device keeps.
    assert reverse("program:home") not in told["pages"]


@pytest.mark.usefixtures("evening")
def test_the_pages_of_the_own_child_are_kept_and_send_later_as_any_familys(
    cast, client_for, parent
):
    session = assign(cast.child)
    said(cast.child, parent)
    coach = client_for(parent)
    for name in ("session_day", "follow", "log"):
        read = coach.get(page(f"program:{name}", cast.child, session.public_id)).content.decode()
        assert f'data-list="{reverse("program:to_keep")}"' in read, name
    assert "data-list" not in coach.get(reverse("program:week")).content.decode()


# Mails


def test_a_coach_hears_as_a_parent_and_is_led_to_the_family(cast, parent):
    assert (parent, cast.child.pk) in families_of([cast.child.pk])
    assert parent in cast.child.family_told()


@pytest.mark.usefixtures("evening")
def test_a_question_of_the_only_coach_reaches_the_head_coaches(
    cast, client_for, mailoutbox, django_capture_on_commit_callbacks
):
    """Nobody is mailed what they asked themselves, and somebody else is to answer."""
    Guardianship.objects.create(child=cast.child, guardian=cast.coach)
    session = assign(cast.child)
    address = page("program:ask", cast.child, session.public_id)
    with django_capture_on_commit_callbacks(execute=True):
        client_for(cast.coach).post(address, {"slot": "", "text": "How deep?", "once": "a-key"})
    assert [mail.to for mail in mailoutbox] == [[cast.head_coach.email]]


def test_one_switch_for_mail_goes_for_both_and_the_question_says_so(cast, client_for, parent):
    words = "It goes for what you are mailed as a coach, too."
    consents = page("athletes:consents", cast.child)
    assert words in client_for(parent).get(consents).content.decode()
    assert words not in client_for(cast.guardian).get(consents).content.decode()


# As a parent of a child that others coach


CHILDS_COACHES_PAGES = (
    "athletes:child",
    "athletes:edit_child",
    "athletes:enrol_child",
    "athletes:withdraw_child",
    "athletes:invite_family",
    "athletes:consents_on_paper",
    "athletes:first_placement",
    "program:child_review",
)


def test_an_own_child_that_others_coach_is_no_child_to_coach(cast, client_for):
    """A parent who coaches elsewhere neither lifts what is spared nor places, nor enrols in the
    own cohort."""
    Guardianship.objects.create(child=cast.child, guardian=cast.other_coach)
    coach = client_for(cast.other_coach)
    for name in CHILDS_COACHES_PAGES:
        assert coach.get(page(name, cast.child)).status_code == 404, name
        assert coach.get(page(name, cast.other_child)).status_code == 200, name
    in_all = coach.get(reverse("athletes:children")).content.decode()
    assert str(cast.other_child.public_id) in in_all
    assert str(cast.child.public_id) not in in_all


@pytest.mark.usefixtures("evening")
def test_what_is_spared_by_others_is_lifted_by_them(cast, client_for):
    Guardianship.objects.create(child=cast.child, guardian=cast.other_coach)
    rest = cast.child.restrictions.create(
        region="", kind="nothing", start=WEDNESDAY, until=WEDNESDAY + dt.timedelta(9)
    )
    lift = page("athletes:lift_restriction", cast.child, rest.pk)
    for person, may in ((cast.other_coach, False), (cast.coach, True)):
        browser = client_for(person)
        shown = browser.get(page("athletes:restrictions", cast.child)).content.decode()
        assert (lift in shown) is may
        assert browser.post(lift).status_code == (302 if may else 404)
        rest.refresh_from_db()
        assert (rest.lifted_on is not None) is may


@pytest.mark.usefixtures("evening")
def test_what_hurts_an_own_child_that_others_coach_is_theirs_to_answer(cast, client_for):
    Guardianship.objects.create(child=cast.child, guardian=cast.other_coach)
    hurt = report(assign(cast.child), knee(), cast.other_coach, EVENING)
    question = Question.objects.create(
        child=cast.child, text="How deep?", asked_at=EVENING, asked_by=cast.other_coach
    )
    given = Resolution.objects.create(
        child=cast.child, finding="x", action="x", sentence="Done.", by=cast.coach, at=EVENING
    )
    for person, may in ((cast.other_coach, False), (cast.coach, True)):
        browser = client_for(person)
        assert ("reports of pain wait" in head(browser.get(reverse("program:week")))) is may
        there = browser.get(reverse("program:question", args=[question.public_id]))
        assert there.status_code == (200 if may else 404)
        asked = {"child": cast.child.public_id, "key": f"pain-{hurt.pk}", "action": "later"}
        assert (browser.post(reverse("program:answer"), asked).status_code == 404) is not may
        answers = browser.get(reverse("program:answers")).content.decode()
        assert ("Done." in answers) is may
        back = reverse("program:answer_back", args=[given.pk])
        assert (browser.post(back).status_code == 404) is not may


def test_who_coaches_the_own_child_too_does_both(cast, client_for):
    Guardianship.objects.create(child=cast.child, guardian=cast.coach)
    coach = client_for(cast.coach)
    for name in CHILDS_COACHES_PAGES:
        assert coach.get(page(name, cast.child)).status_code == 200, name
    assert "bar-family" in head(coach.get(page("athletes:kit", cast.child)))


@pytest.mark.usefixtures("evening")
def test_of_what_a_coach_asked_as_a_parent_the_page_names_who_else_can_answer(cast, client_for):
    Guardianship.objects.create(child=cast.child, guardian=cast.coach)
    words = "You asked this as a parent. Head Coach can answer it, too."
    for by, is_said in ((cast.coach, True), (cast.guardian, False)):
        question = Question.objects.create(
            child=cast.child, text="How deep?", asked_at=EVENING, asked_by=by
        )
        read = text(
            client_for(cast.coach).get(reverse("program:question", args=[question.public_id]))
        )
        assert (words in read) is is_said
