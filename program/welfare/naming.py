"""Naming welfare officers, so that no head coach becomes one unnoticed."""

import datetime as dt
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction
from django.urls import reverse

from athletes.mailing import link_to, notice, origin_of, send_after_commit
from athletes.models import Role, User
from program.models import WelfareOfficer

if TYPE_CHECKING:
    from django.db.models import QuerySet

    from library.shared.access import Request


def who_may_be_named() -> "QuerySet[User]":
    """Every grown-up with an account."""
    grown_up = [Role.HEAD_COACH, Role.COACH, Role.GUARDIAN]
    standing = WelfareOfficer.objects.standing().values("person")
    return User.objects.filter(role__in=grown_up, is_active=True).exclude(pk__in=standing)


def name_officer(person: User, request: "Request", now: dt.datetime) -> WelfareOfficer | None:
    """Whoever names themself waits for another head coach, where there is one. None where the
    person is named already."""
    by = request.user
    waits = person == by and _other_head_coaches(by).exists()
    try:
        with transaction.atomic():
            there = list(WelfareOfficer.objects.in_force().select_related("person"))
            named = WelfareOfficer.objects.create(
                person=person, named_by=by, named_at=now, in_force_since=None if waits else now
            )
            _tell(request, [*(each.person for each in there), *_other_head_coaches(by), person])
    except IntegrityError:
        return None
    return named


@transaction.atomic
def confirm(officer: WelfareOfficer, request: "Request", now: dt.datetime) -> bool:
    """By a head coach who is neither the person nor named them; False where it is not to be
    confirmed, or not by this one."""
    by = request.user
    if by.pk in {officer.person_id, officer.named_by_id}:
        return False
    waiting = WelfareOfficer.objects.standing().filter(pk=officer.pk, in_force_since__isnull=True)
    if not waiting.update(in_force_since=now, confirmed_by=by):
        return False
    _tell(request, [each.person for each in _in_force()])
    return True


@transaction.atomic
def end(officer: WelfareOfficer, request: "Request", now: dt.datetime) -> bool:
    """The officers are told, the one who is none any more among them."""
    told = [*(each.person for each in _in_force()), officer.person]
    standing = WelfareOfficer.objects.standing().filter(pk=officer.pk)
    if not standing.update(ended_at=now, ended_by=request.user):
        return False
    _tell(request, told)
    return True


def _in_force() -> list[WelfareOfficer]:
    return list(WelfareOfficer.objects.in_force().select_related("person"))


def _other_head_coaches(by: User) -> "QuerySet[User]":
    return User.objects.filter(role=Role.HEAD_COACH, is_active=True).exclude(pk=by.pk)


def _tell(request: "Request", people: list[User]) -> None:
    """Whether they want mails or not: whoever reads along is to be known."""
    context = {"link": link_to(request, reverse("program:welfare"))}
    once = {each.pk: each for each in people if each.pk != request.user.pk}
    send_after_commit(
        [
            notice(
                origin_of(request),
                each,
                "A change in your program",
                "program/welfare/mail/officers.txt",
                context,
            )
            for each in once.values()
        ]
    )
