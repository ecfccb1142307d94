"""Naming welfare officers, so that no head coach becomes one unnoticed."""

import datetime as dt
from typing import TYPE_CHECKING, Any, Final

from django.db import IntegrityError, transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from athletes import role_changes
from athletes.head_coaches import A_LITTLE, may_agree, other_head_coaches, what_is_awaited
from athletes.mailing import notice, origin_of, send_after_commit, written_mail
from athletes.models import Invitation, Role, User
from library.shared.task_queue import Queue, enqueue, task
from program.models import WelfareOfficer

if TYPE_CHECKING:
    from django.db.models import QuerySet

    from library.shared.access import Request

SUBJECT: Final = "A change in your program"
MAIL: Final = "program/welfare/mail/officers.txt"


def who_may_be_named() -> "QuerySet[User]":
    """Every grown-up with an account."""
    grown_up = [Role.HEAD_COACH, Role.COACH, Role.GUARDIAN]
    standing = WelfareOfficer.objects.standing().values("person")
    return User.objects.filter(role__in=grown_up, is_active=True).exclude(pk__in=standing)


def name_officer(person: User, request: "Request", now: dt.datetime) -> WelfareOfficer | None:
    """It waits for another head coach; where there is none, a day. None where the person is named
    already."""
    by, origin = request.user, origin_of(request)
    try:
        with transaction.atomic():
            named = WelfareOfficer.objects.create(person=person, named_by=by, named_at=now)
            _tell(origin, [*_in_force(), *other_head_coaches(by), person], but_for=by)
            _wait_alone(named, by, origin)
    except IntegrityError:
        return None
    return named


def invite_officer(email: str, request: "Request") -> Invitation:
    """Somebody without an account: named by coming in. Raises TooManyInvitations."""
    by, origin = request.user, origin_of(request)
    with transaction.atomic():
        invited, _ = Invitation.objects.invite(email, Role.GUARDIAN, by, as_officer=True)
        role_changes.ask_about_invitation(invited, by, origin)
        heads = {each.pk for each in other_head_coaches(by)}  # who have a mail of it
        _tell(origin, [each for each in _in_force() if each.pk not in heads], but_for=by)
    return invited


def on_invitation_accepted(
    invitation: Invitation, person: User, at: dt.datetime, **signal: Any
) -> None:
    """Receiver of `invitation_accepted`. Two head coaches have agreed to it, or one a day later."""
    if not invitation.as_officer or WelfareOfficer.objects.standing().filter(person=person):
        return
    there = _in_force()  # before they are among them
    WelfareOfficer.objects.create(
        person=person,
        named_by=invitation.invited_by,
        named_at=invitation.created_at,
        confirmed_by=invitation.agreed_by,
        in_force_since=at,
    )
    body = render_to_string(MAIL)
    send_after_commit([written_mail(each.email, SUBJECT, body) for each in there])


@transaction.atomic
def confirm(officer: WelfareOfficer, by: User, now: dt.datetime, origin: str) -> bool:
    """Have what waits hold, being named or being taken off; False where nothing waits, or it is not
    this person's to agree to."""
    standing = WelfareOfficer.objects.standing().select_for_update(of=("self",))
    held = standing.select_related("person").filter(pk=officer.pk).first()
    if held is None or not held.waits_for(by, now):
        return False
    if not may_agree(by, held.asked_by_id, held.holds_alone_at, now):
        return False
    told = [*_in_force(), held.person, *other_head_coaches(by)]
    if held.in_force_since is None:
        held.in_force_since, held.confirmed_by = now, by
    else:
        held.ended_at, held.ended_by = now, by
    held.save(update_fields=["in_force_since", "confirmed_by", "ended_at", "ended_by"])
    _tell(origin, told, but_for=by)
    return True


@task("program.take_up_officer", Queue.CHANGES)
def take_up(officer: int, origin: str) -> None:
    """The day is over. Where there is a second head coach by now, it waits for them."""
    standing = WelfareOfficer.objects.standing()
    found = standing.select_related("named_by", "ending_asked_by").filter(pk=officer).first()
    if found:
        by = found.named_by if found.in_force_since is None else found.ending_asked_by
        if by:
            confirm(found, by, timezone.now(), origin)


@transaction.atomic
def end(officer: WelfareOfficer, request: "Request", now: dt.datetime) -> str:
    """Ask that they be no officer any more; who is not in force yet, or steps down themself, is
    none at once. What came of it, in words; the officers and the one it is about are told."""
    by, origin = request.user, origin_of(request)
    standing = WelfareOfficer.objects.standing().filter(pk=officer.pk)
    told = [*_in_force(), officer.person, *other_head_coaches(by)]
    if officer.in_force_since is None or by.pk == officer.person_id:
        if not standing.update(ended_at=now, ended_by=by):
            return "They are taken off already."
        _tell(origin, told, but_for=by)
        return "Taken off. The officers get a mail that says so."
    if standing.filter(ending_asked_at=None).update(ending_asked_by=by, ending_asked_at=now):
        _tell(origin, told, but_for=by)
        _wait_alone(WelfareOfficer.objects.get(pk=officer.pk), by, origin)
    return f"It is asked for, and holds once {what_is_awaited(by)}. They read on until then."


@transaction.atomic
def keep(officer: WelfareOfficer, request: "Request") -> None:
    """Have somebody stay whom a head coach wants to take off."""
    standing = WelfareOfficer.objects.standing().filter(pk=officer.pk)
    if standing.exclude(ending_asked_at=None).update(ending_asked_by=None, ending_asked_at=None):
        by = request.user
        told = [*_in_force(), *other_head_coaches(by)]
        _tell(origin_of(request), told, but_for=by)


def _wait_alone(officer: WelfareOfficer, by: User, origin: str) -> None:
    if not other_head_coaches(by).exists():
        enqueue(take_up, at=officer.holds_alone_at + A_LITTLE, officer=officer.pk, origin=origin)


def _in_force() -> list[User]:
    return [each.person for each in WelfareOfficer.objects.in_force().select_related("person")]


def _tell(origin: str, people: list[User], but_for: User) -> None:
    """Whether they want mails or not: whoever reads along is to be known."""
    context = {"link": origin + reverse("program:welfare")}
    once = {each.pk: each for each in people if each.pk != but_for.pk and each.is_active}
    send_after_commit([notice(origin, each, SUBJECT, MAIL, context) for each in once.values()])
