"""What a phone or tablet keeps: under which keys, and for how many days."""

from django.http import HttpRequest
from django.utils.crypto import salted_hmac

from athletes.models import User


def owner_key(user: User) -> str:
    """The same for a person on every phone, and no way back to who that is."""
    return _key("owner", str(user.pk))


def sign_in_key(request: HttpRequest) -> str:
    """Another one with every sign-in, so that nothing kept outlives one."""
    return _key("sign-in", request.session.session_key or "")


def _key(what: str, text: str) -> str:
    return salted_hmac(f"program.offline.{what}", text, algorithm="sha256").hexdigest()[:20]


DAYS_AHEAD_AT_THE_VENUE = 3
