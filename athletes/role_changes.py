"""Who coaches: asked for by a head coach, and so once another one agrees. Where there is no other,
a day later. It goes for people with an account and for invitations alike.

Switching somebody off is something else, and holds at once (`switching_off.py`).
"""

import datetime as dt
from typing import Final

from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from athletes.head_coaches import A_LITTLE, may_agree, other_head_coaches
from athletes.invitation_mail import invitation_mail
from athletes.mailing import notice, send_after_commit
from athletes.models import AccessRules, Invitation, RoleChange, SignIn, User
from library.shared.task_queue import Queue, enqueue, task

SUBJECT: Final = "About who coaches in your program"
MAILS: Final = "athletes/mail/"


class RoleStays(Exception):
    """A role that does not change; the message says why."""


@transaction.atomic
def ask(person: User, role: str, by: User, now: dt.datetime, origin: str) -> RoleChange:
    """Raises RoleStays. Whoever it is about and the other head coaches are told."""
    held = User.objects.select_for_update(no_key=True).get(pk=person.pk)
    if held.role == role:
        raise RoleStays(f"{held} is a {held.get_role_display()} already.")
    if held.is_head_coach and held.is_active and not other_head_coaches(held).exists():
        raise RoleStays("Then no head coach would be left.")
    if held.role_changes.waiting().exists():
        raise RoleStays(f"Something is asked already for {held}. Take that back first.")
    change = RoleChange.objects.create(
        person=held, was=held.role, role=role, asked_by=by, asked_at=now
    )
    others = list(other_head_coaches(by))
    _tell(origin, [*others, held], "role_asked", change, but_for=by)
    if not others:
        at = change.holds_alone_at + A_LITTLE
        enqueue(take_up, at=at, change=change.pk, origin=origin)
    return change


@transaction.atomic
def agree(change: RoleChange, by: User, now: dt.datetime, origin: str) -> bool:
    """From then on it holds, and who was signed in as who they were is signed out; False where it
    is not open any more, or not this person's to agree to."""
    held = RoleChange.objects.waiting().select_for_update(of=("self",)).filter(pk=change.pk)
    found = held.select_related("person").first()
    if found is None or not may_agree(by, found.asked_by_id, found.holds_alone_at, now):
        return False
    person = User.objects.select_for_update(no_key=True).get(pk=found.person_id)
    RoleChange.objects.filter(pk=found.pk).update(agreed_by=by, agreed_at=now)
    found.take_effect(person, now)
    SignIn.objects.filter(user=person).delete()
    is_alone = by.pk == found.asked_by_id
    told = [*other_head_coaches(None if is_alone else by), person]
    _tell(origin, told, "role_changed", found, but_for=None)
    return True


@transaction.atomic
def take_back(change: RoleChange, by: User, now: dt.datetime, origin: str) -> bool:
    """By any head coach; False where it holds already."""
    if not RoleChange.objects.filter(pk=change.pk).end(by, now):
        return False
    _tell(origin, [*other_head_coaches(by), change.person], "role_taken_back", change, but_for=by)
    return True


@task("athletes.take_up_role_change", Queue.CHANGES)
def take_up(change: int, origin: str) -> None:
    """The day is over. Where there is a second head coach by now, it waits for them."""
    found = RoleChange.objects.waiting().select_related("asked_by").filter(pk=change).first()
    if found and found.asked_by:
        agree(found, found.asked_by, timezone.now(), origin)


# Invitations to coach, or to be a welfare officer


def ask_about_invitation(invitation: Invitation, by: User, origin: str) -> None:
    """What follows from one that was just made; call it in its transaction."""
    others = list(other_head_coaches(by))
    _tell(origin, others, "invitation_asked", invitation, but_for=by)
    if not others:
        at = invitation.holds_alone_at + A_LITTLE
        enqueue(send_invitation, at=at, invitation=invitation.pk, origin=origin)


@transaction.atomic
def agree_to_invitation(invitation: Invitation, by: User, now: dt.datetime, origin: str) -> bool:
    """Have it mailed to whom it is for; False as with `agree`."""
    alone_at = invitation.holds_alone_at
    if not may_agree(by, invitation.invited_by_id, alone_at, now):
        return False
    token = invitation.agree(by, now)
    if token is None:
        return False
    club = AccessRules.objects.current().club_name
    send_after_commit([invitation_mail(origin, club, invitation, token)])
    return True


@task("athletes.send_coach_invitation", Queue.CHANGES)
def send_invitation(invitation: int, origin: str) -> None:
    """As `take_up`."""
    waiting = Invitation.objects.by_two().open_at(timezone.now()).filter(agreed_at__isnull=True)
    found = waiting.select_related("invited_by").filter(pk=invitation).first()
    if found:
        agree_to_invitation(found, found.invited_by, timezone.now(), origin)


def _tell(
    origin: str,
    people: list[User],
    what: str,
    about: RoleChange | Invitation,
    but_for: User | None,
) -> None:
    """Whether they want mails or not: who coaches is to be known."""
    left_out = but_for.pk if but_for else None
    once = {each.pk: each for each in people if each.is_active and each.pk != left_out}
    link = origin + reverse("athletes:people")
    context = {"about": about, "link": link}
    send_after_commit(
        [notice(origin, each, SUBJECT, f"{MAILS}{what}.txt", context) for each in once.values()]
    )
