"""Checks of what the environment says. What makes no sense at all is refused before any of them
(`config/environment.py`)."""

from typing import Final

from django.conf import settings
from django.utils import timezone

from program.operations.checks.result import Result, check, look, well, wrong
from program.operations.this_machine import is_this_machine

LEAST_KEY: Final = 50
"""Characters, as Django's own deployment check has it."""
LEAST_DIFFERENT: Final = 5


@check("secret key")
def secret_key() -> Result:
    if settings.ON_THIS_MACHINE_ONLY:
        return well("the one for this machine only")
    key = settings.SECRET_KEY
    if len(key) < LEAST_KEY or len(set(key)) < LEAST_DIFFERENT or key.startswith("django-insecure"):
        return wrong(
            "short, or easily guessed: whoever guesses it signs in as anybody",
            "Set SECRET_KEY to 64 random characters: python3 -c "
            '"import secrets; print(secrets.token_urlsafe(64))"',
        )
    return well(f"{len(key)} characters")


@check("hosts")
def hosts() -> Result:
    given = settings.ALLOWED_HOSTS
    if odd := [host for host in given if any(sign in host for sign in (" ", "/", "\t"))]:
        return wrong(
            f"{', '.join(odd)}: no name of a host",
            "Give ALLOWED_HOSTS names only, with commas between: fledge.club.example",
        )
    if "*" in given:
        return look(
            "any name is answered, also one that a stranger made up",
            "Name the hosts in ALLOWED_HOSTS.",
        )
    if settings.ON_THIS_MACHINE_ONLY:
        return well(f"this machine alone, because of {settings.ON_THIS_MACHINE_ONLY_BY}=1")
    if all(map(is_this_machine, given)):
        return wrong(
            "only this machine's own names are answered, and everybody else gets a page with 400",
            "Put your domain into ALLOWED_HOSTS.",
        )
    return well(", ".join(given))


@check("proxies")
def proxies() -> Result:
    trusted = settings.TRUSTED_PROXIES
    if not trusted and not settings.ON_THIS_MACHINE_ONLY:
        return look(
            "none is trusted: behind a proxy, everybody shares one limit of sign-ins",
            "Set TRUSTED_PROXIES to the proxy's address as Fledge sees it: 127.0.0.1 on the same "
            "machine.",
        )
    return well(", ".join(map(str, trusted)) or "none")


@check("time zone")
def time_zone() -> Result:
    now = timezone.localtime()
    return well(f"{settings.TIME_ZONE}, where it is {now:%H:%M on %d %B %Y}")


@check("mail sender")
def mail_sender() -> Result:
    if settings.DEFAULT_FROM_EMAIL.rstrip(">").endswith("@localhost"):
        says = f"{settings.DEFAULT_FROM_EMAIL}, which other mail servers refuse"
        mend = "Set MAIL_FROM to an address of your domain: Fledge <fledge@club.example>"
        return well("printed here") if settings.ON_THIS_MACHINE_ONLY else wrong(says, mend)
    return well(settings.DEFAULT_FROM_EMAIL)


@check("operator")
def operator() -> Result:
    if not settings.OPERATOR_MAIL and not settings.ON_THIS_MACHINE_ONLY:
        return look(
            "nobody is mailed when something breaks", "Set OPERATOR_MAIL to your own address."
        )
    return well(settings.OPERATOR_MAIL or "nobody, on this machine only")
