"""Where a child belongs: cohorts, guardians, an own sign-in."""

import datetime as dt
import smtplib

import pytest
from django.core.mail.backends.locmem import EmailBackend
from django.urls import reverse

from athletes.mailing import send_mails
from athletes.models import Child, Guardianship, Invitation, OutgoingMail
from tests.support.children_pages import assert_well_made, errors_of, text
from tests.support.invitations import invitations_in
from tests.support.work import work_off

pytestmark = pytest.mark.django_db


def page(name: str, child: Child, *more: int) -> str:
    return reverse(f"athletes:{name}", args=[child.public_id, *more])


# Cohorts


def test_the_cohorts_are_listed_youngest_first(cast, client_for):
    answer = client_for(cast.head_coach).get(reverse("athletes:people"))
    assert answer.context["cohorts"].ordered


def test_a_child_is_enrolled_and_leaves_again(cast, client_for, today):
    head = client_for(cast.head_coach)
    fields = {"cohort": cast.other_cohort.pk, "start": "2026-11-01"}
    head.post(page("enrol_child", cast.child), fields)
    enrolment = cast.child.enrolments.get(cohort=cast.other_cohort)
    assert enrolment.start == dt.date(2026, 11, 1)
    assert_well_made(head.get(page("end_enrolment", cast.child, enrolment.pk)))
    head.post(page("end_enrolment", cast.child, enrolment.pk), {"last_day": "2026-11-10"})
    enrolment.refresh_from_db()
    assert enrolment.end == dt.date(2026, 11, 10)
    assert cast.child in Child.objects.enrolled_in(cast.cohort, dt.date(2027, 1, 1))


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"start": "2026-11-04"}, "Choose a cohort."),
        ({"cohort": "own", "start": "2026-11-04"}, "already in this cohort on those days"),
        ({"cohort": "own", "start": "2028-11-04"}, "Choose a day within a year of today."),
        ({"cohort": "own", "start": ""}, "Choose a day."),
        ({"cohort": "other", "start": "2026-11-04"}, "This cohort is not one of yours."),
    ],
)
def test_a_wrong_enrolment_is_refused_at_its_field(cast, coach, fields, message):
    ids = {"own": cast.cohort.pk, "other": cast.other_cohort.pk}
    if "cohort" in fields:
        fields = fields | {"cohort": ids[fields["cohort"]]}
    answer = coach.post(page("enrol_child", cast.child), fields)
    assert message in errors_of(answer)
    assert cast.child.enrolments.count() == 1


@pytest.mark.parametrize(
    ("last_day", "message"),
    [
        ("2020-01-01", "In Own cohort only since 7 September 2026."),
        ("2028-01-01", "Choose a day within the coming year."),
        ("", "Choose a day."),
    ],
)
def test_a_wrong_last_day_is_refused_at_its_field(cast, coach, last_day, message):
    answer = coach.post(page("withdraw_child", cast.child), {"last_day": last_day})
    assert message in errors_of(answer)
    assert cast.child.enrolments.get().end is None


def test_withdrawing_ends_every_cohort_of_the_coach_and_no_other(cast, coach, today):
    cast.child.enrolments.create(cohort=cast.other_cohort, start=today)
    answer = coach.get(page("withdraw_child", cast.child))
    assert_well_made(answer)
    assert "This ends: Own cohort ." in text(answer)
    coach.post(page("withdraw_child", cast.child), {"last_day": today})
    assert cast.child.enrolments.get(cohort=cast.cohort).end == today
    assert cast.child.enrolments.get(cohort=cast.other_cohort).end is None


def test_who_is_in_no_cohort_cannot_be_withdrawn_again(cast, client_for, today):
    cast.child.enrolments.update(end=today - dt.timedelta(days=1))
    asked = client_for(cast.head_coach).get(page("withdraw_child", cast.child))
    assert "there is nothing to end" in text(asked)


def test_a_coach_who_ends_yesterday_what_was_the_own_is_led_to_the_list(cast, coach, today):
    yesterday = today - dt.timedelta(days=1)
    answer = coach.post(page("withdraw_child", cast.child), {"last_day": yesterday}, follow=True)
    assert answer.redirect_chain == [("/children/", 302)]
    assert "leaves Own cohort" in text(answer)


# Family


def test_a_guardian_is_invited_by_mail_without_the_child_in_the_subject(cast, coach, mailoutbox):
    assert_well_made(coach.get(page("invite_family", cast.child)))
    fields = {"email": "Dad@Example.org", "role": "guardian"}
    answer = coach.post(page("invite_family", cast.child), fields, follow=True)
    assert "An invitation is on its way to dad@example.org." in text(answer)
    assert "invited as parent or guardian, until 11 November" in text(answer)
    work_off()
    (mail,) = invitations_in(mailoutbox)
    assert mail.to == ["dad@example.org"]


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"email": "", "role": "guardian"}, "Give an email address."),
        ({"email": "nobody", "role": "guardian"}, "This is not an email address"),
        (
            {"email": f"dad@{'long.' * 50}example.org", "role": "guardian"},
            "An email address has at most 254 characters.",
        ),
        (
            {"email": "OWN.parent@example.org", "role": "guardian"},
            "This is already a guardian of Mira.",
        ),
        (
            {"email": "young.athlete@example.org", "role": "guardian"},
            "This is a young athlete’s own address.",
        ),
        ({"email": "new@example.org", "role": "athlete"}, "Mira has an own sign-in already."),
    ],
)
def test_a_wrong_invitation_is_refused_at_the_address_and_mails_nobody(
    cast, coach, mailoutbox, fields, message
):
    answer = coach.post(page("invite_family", cast.child), fields)
    assert message in errors_of(answer)
    assert not mailoutbox
    assert not Invitation.objects.exists()


def test_an_address_in_use_is_no_childs_own_sign_in(cast, coach):
    Child.objects.filter(pk=cast.child.pk).update(user=None)
    fields = {"email": "own.parent@example.org", "role": "athlete"}
    answer = coach.post(page("invite_family", cast.child), fields)
    assert "Somebody already signs in with this email address." in errors_of(answer)


def test_nobody_is_invited_twice_until_the_first_is_withdrawn(cast, coach, mailoutbox):
    fields = {"email": "dad@example.org", "role": "guardian"}
    coach.post(page("invite_family", cast.child), fields)
    answer = coach.post(page("invite_family", cast.child), fields)
    assert "An invitation to this address is still open." in errors_of(answer)
    invitation = Invitation.objects.get()
    work_off()
    coach.post(page("withdraw_family_invitation", cast.child, invitation.pk))
    assert coach.post(page("invite_family", cast.child), fields).status_code == 302
    work_off()
    assert len(invitations_in(mailoutbox)) == 2


def test_an_invitation_whose_mail_cannot_leave_waits_and_says_so(
    cast, coach, mailoutbox, monkeypatch
):
    def broken(*_):
        raise smtplib.SMTPServerDisconnected

    fields = {"email": "dad@example.org", "role": "guardian"}
    with monkeypatch.context() as away:
        away.setattr(EmailBackend, "send_messages", broken)
        coach.post(page("invite_family", cast.child), fields)
        work_off()
    assert "its mail is on its way" in text(coach.get(page("child", cast.child)))
    send_mails([each.pk for each in OutgoingMail.objects.all()])
    assert [mail.to for mail in invitations_in(mailoutbox)] == [["dad@example.org"]]
    assert "its mail" not in text(coach.get(page("child", cast.child)))


def test_an_address_that_no_mail_server_takes_is_shown_beside_its_invitation(
    cast, coach, mailoutbox, monkeypatch
):
    def unknown(*_):
        raise smtplib.SMTPRecipientsRefused({"dad@example.org": (550, b"no such mailbox")})

    monkeypatch.setattr(EmailBackend, "send_messages", unknown)
    coach.post(page("invite_family", cast.child), {"email": "dad@example.org", "role": "guardian"})
    work_off()
    assert "could not be delivered: check the address" in text(coach.get(page("child", cast.child)))
    assert not OutgoingMail.objects.exists()


def test_only_a_head_coach_removes_a_guardian(cast, coach, client_for):
    guardianship = Guardianship.objects.get(child=cast.child)
    address = page("remove_guardian", cast.child, guardianship.pk)
    assert coach.post(address).status_code == 404
    client_for(cast.head_coach).post(address)
    assert not cast.child.guardians.exists()
