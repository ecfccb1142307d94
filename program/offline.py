"""Whose is what a phone keeps: names for people and sign-ins that mean nothing to anyone else."""

from django.utils.crypto import salted_hmac

from athletes.models import User


def owner_key(user: User) -> str:
    """The same for a person on every phone, and no way back to who that is."""
    return salted_hmac("program.offline.owner", str(user.pk), algorithm="sha256").hexdigest()[:20]
