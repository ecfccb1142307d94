"""The page on which a family agrees, what a coach writes down from paper, and who is told of two
answers that differ."""

import datetime as dt
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes import consent_texts
from athletes.consent_texts import TEXTS
from athletes.consents import choose_mail
from athletes.invitation_mail import ask_about_kit
from athletes.mailing import stop_token
from athletes.models import Consent, ConsentPurpose, Invitation
from athletes.models.consents import is_agreed_to
from tests.support.children_pages import assert_well_made, errors_of, text
from tests.support.consents import said
from tests.support.factories import ChildFactory, UserFactory

pytestmark = pytest.mark.django_db

PHOTOS, TRAINING = ConsentPurpose.PHOTOS, ConsentPurpose.TRAINING


def page(child, name="consents") -> str:
    return reverse(f"athletes:{name}", args=[child.public_id])


def day(child) -> str:
    return reverse("program:child_day", args=[child.public_id])


def sends(client, child, **answers):
    versions = {f"{purpose}_text": text.version for purpose, text in TEXTS.items()}
    return client.post(page(child, "answer_consents"), versions | answers)


@pytest.fixture
def new(cast):
    """A child whose mother has signed in for the first time."""
    return ChildFactory(cohort=cast.cohort, guardian=UserFactory(name="New Parent"), agrees=())


@pytest.fixture
def mother(new, client_for):
    return client_for(new.guardians.get())


def test_a_family_is_asked_before_anything_else_and_goes_on_when_it_has_answered(
    new, mother, today
):
    assert mother.get(reverse("program:family"), follow=True).redirect_chain[-1][0] == page(new)
    read = text(mother.get(page(new)))
    for purpose in TEXTS.values():
        assert purpose.question.format(name=new.given_name) in read
    answers = dict.fromkeys(ConsentPurpose, "yes") | {PHOTOS: "no"}
    answered = sends(mother, new, **answers)
    assert answered["Location"] == day(new)
    assert mother.get(day(new)).status_code == 200
    assert is_agreed_to(TRAINING, new, today)
    assert not is_agreed_to(PHOTOS, new, today)


def test_a_no_is_as_good_an_answer_as_a_yes_and_taken_back_on_the_same_page_by_the_same_taps(
    new, mother, today
):
    assert sends(mother, new, training="no")["Location"] == day(new)
    assert mother.get(day(new)).status_code == 200
    assert sends(mother, new, training="yes", photos="yes")["Location"] == page(new)
    assert is_agreed_to(PHOTOS, new, today)
    drawn = mother.get(page(new)).content.decode()
    assert re.search(r'name="photos"[^>]*value="yes"[^>]*checked|checked[^>]*value="yes"', drawn)
    sends(mother, new, photos="no")
    assert not is_agreed_to(PHOTOS, new, today)
    assert "data-confirm" not in drawn


def test_a_text_that_changes_is_asked_anew_while_the_old_answer_holds(
    cast, client_for, today, monkeypatch
):
    parent = client_for(cast.guardian)
    words = consent_texts.ConsentText(2, "Photos", "May they?", "For looking.", "Not then.")
    monkeypatch.setitem(TEXTS, PHOTOS, words)
    assert "These words are new" in text(parent.get(page(cast.child)))
    assert "Please answer again" in text(parent.get(day(cast.child)))
    assert is_agreed_to(PHOTOS, cast.child, today)
    old = {"photos": "no", "photos_text": "1"}
    refused = parent.post(page(cast.child, "answer_consents"), old)
    assert "has changed since you opened the page" in errors_of(refused)
    assert is_agreed_to(PHOTOS, cast.child, today), "nobody answers what they have not read"
    sends(parent, cast.child, photos="no")
    assert not is_agreed_to(PHOTOS, cast.child, today)
    assert "These words are new" not in text(parent.get(page(cast.child)))


def test_a_young_athlete_reads_what_was_answered_and_answers_from_eighteen_on(
    cast, client_for, today
):
    athlete = client_for(cast.athlete)
    read = text(athlete.get(page(cast.child)))
    assert "Own Parent said yes on 7 September 2026" in read
    assert "From 18 on, you do" in read
    assert "Keep my answers" not in read
    assert sends(athlete, cast.child, photos="no").status_code == 404
    cast.child.birth_date = today.replace(year=today.year - 18)
    cast.child.save()
    assert athlete.get(day(cast.child))["Location"] == page(cast.child)
    sends(athlete, cast.child, training="yes", photos="no")
    assert not is_agreed_to(PHOTOS, cast.child, today)
    assert sends(client_for(cast.guardian), cast.child, photos="yes").status_code == 404


def test_nobody_answers_for_a_family_and_strangers_read_nothing(cast, client_for):
    for person in (cast.coach, cast.head_coach, cast.other_guardian, cast.nobody):
        assert sends(client_for(person), cast.child, photos="no").status_code == 404
    for person in (cast.other_guardian, cast.other_coach, cast.nobody):
        assert client_for(person).get(page(cast.child)).status_code == 404
    assert not Consent.objects.filter(given=False).exists()


def test_a_coach_writes_down_what_was_signed_and_it_is_marked_so(cast, new, client_for, now, today):
    coach, parent = client_for(cast.coach), new.guardians.get()
    assert "not answered yet" in text(coach.get(page(new)))
    sent = {"person": parent.pk, "signed_on": "2026-11-01", "training": "yes", "mail": "no"}
    coach.post(page(new, "consents_on_paper"), sent)
    row = Consent.objects.get(purpose=TRAINING, child=new)
    assert (row.answered_by, row.recorded_by, row.signed_on) == (
        parent,
        cast.coach,
        dt.date(2026, 11, 1),
    )
    assert "said yes on 1 November 2026, on paper" in text(coach.get(page(new)))
    parent.refresh_from_db()
    assert not parent.wants_mail


@pytest.mark.parametrize(
    ("details", "told"),
    [
        ({"signed_on": "2026-11-05"}, "This day has not come yet"),
        ({"signed_on": "2019-11-05"}, "five years"),
        ({"person": ""}, "Choose who signed"),
        ({"training": ""}, "Say what the paper says"),
        ({"signed_on": "2026-09-07"}, "Own Parent has answered since, on 7 September 2026"),
    ],
)
def test_a_paper_that_cannot_be_is_refused_in_plain_words(cast, coach, details, told):
    sent = {"person": cast.guardian.pk, "signed_on": "2026-11-01", "training": "no"}
    refused = coach.post(page(cast.child, "consents_on_paper"), sent | details)
    assert told in errors_of(refused)
    assert not Consent.objects.filter(given=False).exists()


def test_nobody_signs_for_another_child(cast, coach):
    sent = {"person": cast.other_guardian.pk, "signed_on": "2026-11-01", "training": "no"}
    refused = coach.post(page(cast.child, "consents_on_paper"), sent)
    assert "does not answer for this child" in errors_of(refused)


def test_two_who_differ_are_both_told_without_an_address(
    cast, client_for, mailoutbox, django_capture_on_commit_callbacks
):
    father = UserFactory(name="Second Parent", email="somebody.else@example.net")
    cast.child.guardianships.create(guardian=father)
    with django_capture_on_commit_callbacks(execute=True):
        sends(client_for(father), cast.child, training="yes", photos="no")
    assert sorted(mail.to[0] for mail in mailoutbox) == [cast.guardian.email, father.email]
    for mail in mailoutbox:
        assert mail.subject == "Two answers differ"
        other = {father.email, cast.guardian.email} - {mail.to[0]}
        assert "Mira" in mail.body
        assert not any(each in mail.body for each in (*other, "photo", "Second Parent"))
    for person, other in ((cast.guardian, father), (father, cast.guardian)):
        client = client_for(person)
        assert "says the same" in text(client.get(day(cast.child)))
        read = client.get(page(cast.child))
        assert "Second Parent" in text(read)
        assert other.email not in read.content.decode()
    mailoutbox.clear()
    with django_capture_on_commit_callbacks(execute=True):
        sends(client_for(father), cast.child, photos="yes", mail="no")
    assert mailoutbox == []
    assert "says the same" not in text(client_for(cast.guardian).get(day(cast.child)))


def test_what_one_says_about_mail_is_no_difference_and_told_to_no_other_guardian(cast, client_for):
    father = UserFactory(name="Second Parent")
    cast.child.guardianships.create(guardian=father)
    said(cast.child, father, [ConsentPurpose.MAIL], given=False)
    read = text(client_for(cast.guardian).get(page(cast.child)))
    assert "says the same" not in read
    assert "Second Parent" not in read
    assert "Second Parent said no" in text(client_for(cast.coach).get(page(cast.child)))


def test_the_pages_are_well_made_and_cost_the_same_however_many_answer(
    cast, client_for, new, mother, coach, django_assert_max_num_queries
):
    for client in (mother, coach):
        assert_well_made(client.get(page(new)))
    assert_well_made(coach.get(page(new, "consents_on_paper")))
    counts = []
    for people in range(2):
        for number in range(4 * people):
            guardian = UserFactory(name=f"Guardian {number}")
            new.guardianships.create(guardian=guardian)
            said(new, guardian)
        with django_assert_max_num_queries(11) as asked:
            coach.get(page(new))
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_who_comes_in_anew_is_mailed_nothing_before_a_yes_and_who_was_here_as_before(
    cast, client_for, now, mailoutbox
):
    """Whoever was here before the question was asked goes on being mailed until it is answered."""
    invitation, _ = Invitation.objects.invite(
        "guardian@example.net", "guardian", invited_by=cast.head_coach, child=cast.child
    )
    new = invitation.accept(now, name="Somebody New")
    assert not new.wants_mail
    assert UserFactory(role="coach").wants_mail
    sends(client_for(new), cast.child, training="yes", mail="yes")
    new.refresh_from_db()
    assert new.wants_mail
    before = UserFactory(name="Here before")
    cast.child.guardianships.create(guardian=before)
    assert before.wants_mail


def test_a_mail_about_kit_goes_to_those_alone_who_agreed_to_mail(cast, mailoutbox, rf):
    """Nobody needs it for safety or to sign in."""
    request = rf.get("/")
    assert ask_about_kit(request, [cast.child]) == [cast.child]
    choose_mail(cast.guardian, timezone.now(), wanted=False)
    assert ask_about_kit(request, [cast.child]) == []


def test_stopping_mails_by_the_link_in_one_of_them_is_an_answer_too(cast, client, client_for):
    client.post(reverse("athletes:stop_mail", args=[stop_token(cast.guardian)]))
    newest = Consent.objects.current().get(
        child=cast.child, answered_by=cast.guardian, purpose=ConsentPurpose.MAIL
    )
    assert not newest.given
    parent = client_for(cast.guardian)
    parent.post(reverse("athletes:mail_setting"), {"wants_mail": "on"})
    assert "You said yes on 4 November 2026" in text(parent.get(page(cast.child)))


def test_of_what_was_deleted_long_ago_nothing_is_promised(cast, client_for, now):
    parent, day = client_for(cast.guardian), dt.timedelta(days=1)
    for ago, is_told in ((15, False), (14, True), (0, True)):
        said(cast.child, cast.guardian, [PHOTOS], given=False, at=now - ago * day)
        assert ("is deleted on" in text(parent.get(page(cast.child)))) is is_told


def test_a_childs_page_tells_its_coach_what_is_agreed_to(cast, new, coach):
    def read_of(child):
        return text(coach.get(page(child, "child")))

    assert "the family has not answered" in read_of(new)
    assert "Training: yes · Words about health: yes · Heights: not answered" in read_of(cast.child)
    second = UserFactory(name="Second Parent")
    cast.child.guardianships.create(guardian=second)
    said(cast.child, second, [PHOTOS], given=False)
    read = read_of(cast.child)
    assert "Photos and clips: no" in read
    assert "guardians differ" in read
