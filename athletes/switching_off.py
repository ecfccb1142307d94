"""Switching somebody off at once, and on again.

Row by row it is one transaction: whoever is off is signed in nowhere, nothing of theirs is on its
way and nobody whom they have invited comes in by it.
"""

from django.db import transaction
from django.utils import timezone

from athletes.models import Invitation, OutgoingMail, Role, SignIn, User
from athletes.signals import switched_off


class StaysOn(Exception):
    """Somebody who cannot be switched off; the message says why."""


@transaction.atomic
def switch_off(person: User, by: User) -> None:
    """Raises StaysOn for whoever asks and for the last head coach."""
    if person.pk == by.pk:
        raise StaysOn("Nobody switches themselves off. Another head coach can.")
    # All of them, in one order: two head coaches who switch off each other do it one by one.
    heads = User.objects.filter(role=Role.HEAD_COACH, is_active=True).order_by("pk")
    locked = {each.pk for each in heads.select_for_update(no_key=True)}
    if by.pk not in locked:
        raise StaysOn("You were switched off meanwhile.")
    User.objects.filter(pk=person.pk).update(is_active=False)
    SignIn.objects.filter(user=person).delete()
    _withdraw_invitations_to(person)
    OutgoingMail.objects.filter(to__iexact=person.email).delete()
    switched_off.send(sender=User, person=person)


def switch_on(person: User) -> None:
    """They sign in by a code again. Invitations and the calendar's address are made anew."""
    User.objects.filter(pk=person.pk).update(is_active=True)


def _withdraw_invitations_to(person: User) -> None:
    """With their mails. Those they have sent a trigger withdraws."""
    now = timezone.now()
    Invitation.objects.open_at(now).filter(email__iexact=person.email).withdraw(now)
