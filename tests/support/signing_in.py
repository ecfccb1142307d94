"""A browser in which somebody has just signed in, as by a mailed code."""

import time

from allauth.account.internal.flows.login import (
    _AUTHENTICATION_METHODS_USER_SESSION_KEY as WHO,
)
from allauth.account.internal.flows.login import AUTHENTICATION_METHODS_SESSION_KEY as HOW
from allauth.account.internal.userkit import user_id_to_str
from django.test import Client

from athletes.models import User

BACKEND = "allauth.account.auth_backends.AuthenticationBackend"


def signed_in(person: User, client: Client | None = None) -> Client:
    client = client or Client()
    client.force_login(person, backend=BACKEND)
    code_entered(client, person, time.time())
    return client


def code_entered(client: Client, person: User, at: float) -> None:
    """A mailed code, at this moment of the machine's clock."""
    kept = client.session
    kept[HOW], kept[WHO] = [{"method": "code", "at": at}], user_id_to_str(person)
    kept.save()
