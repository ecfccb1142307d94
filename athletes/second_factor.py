"""Taking a second factor away, by whoever has it or for somebody who lost theirs."""

from typing import Final

from allauth.mfa.models import Authenticator
from django.db import transaction
from django.db.models import QuerySet
from django.template.loader import render_to_string

from athletes.mailing import send_after_commit, written_mail
from athletes.models import SignIn, User
from athletes.models.users import SECOND_FACTORS

APP_ADDED: Final = "An app that shows codes was added to your sign-in."
APP_REMOVED: Final = "The app that shows codes was removed from your sign-in."
PASSKEY_ADDED: Final = "A passkey was added to your sign-in."
PASSKEY_REMOVED: Final = "A passkey was removed from your sign-in."
NEW_CODES: Final = "New recovery codes were made for your sign-in. The former ones no longer work."
RESET: Final = (
    "Every app, passkey and recovery code of your sign-in was removed, because somebody asked for "
    "it, and you are signed out everywhere. The emailed code alone signs you in now."
)
MAIL: Final = "athletes/mail/second_factor.txt"
ONLY_ONE: Final = "It is your only one, and coaches need one. Add another first; then this can go."


class OnlyOne(Exception):
    """A coach's only second factor stays; the words say so."""


def with_second_factor() -> "QuerySet[User]":
    """Whoever has one."""
    return User.objects.filter(authenticator__type__in=SECOND_FACTORS).distinct()


def factors_of(person: User) -> "QuerySet[Authenticator]":
    """Apps and passkeys, the oldest first."""
    own: QuerySet[Authenticator] = Authenticator.objects.filter(user=person)
    return own.filter(type__in=SECOND_FACTORS).order_by("created_at", "pk")


def tell(person: User, what: str) -> None:
    """Mail whoever's sign-in it is, wanted or not; call it in the transaction of the change."""
    body = render_to_string(MAIL, {"what": what, "person": person})
    send_after_commit([written_mail(person.email, "Your sign-in to Fledge has changed", body)])


@transaction.atomic
def remove(person: User, factor: Authenticator) -> None:
    """Raises OnlyOne. With the last one the recovery codes go."""
    User.objects.select_for_update(no_key=True).get(pk=person.pk)  # two at once would leave none
    others = factors_of(person).exclude(pk=factor.pk).exists()
    if person.is_coach and not others:
        raise OnlyOne(ONLY_ONE)
    factor.delete()
    if not others:
        Authenticator.objects.filter(user=person).delete()
    is_app = factor.type == Authenticator.Type.TOTP
    tell(person, APP_REMOVED if is_app else PASSKEY_REMOVED)


@transaction.atomic
def reset(person: User) -> None:
    """For somebody who can show none of theirs any more. What a coach is to have by now, a next
    sign-in asks for."""
    Authenticator.objects.filter(user=person).delete()
    SignIn.objects.filter(user=person).delete()
    tell(person, RESET)
