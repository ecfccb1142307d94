"""What the environment says, read strictly: a value that makes no sense is named at once, in one
line, instead of failing some page later. What is empty counts as not given."""

from collections.abc import Mapping
from ipaddress import ip_network
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.core.exceptions import ImproperlyConfigured, ValidationError
from django.core.validators import validate_email

from program.operations.proxies import UNIX_SOCKET, Network

type Environ = Mapping[str, str]


def text(environ: Environ, name: str, usual: str = "") -> str:
    return environ.get(name, "").strip() or usual


def number(
    environ: Environ, name: str, usual: int, *, least: int = 0, most: int | None = None
) -> int:
    """A whole number between two others."""
    said = text(environ, name, str(usual))
    try:
        given = int(said)
    except ValueError:
        raise ImproperlyConfigured(f"{name} must be a whole number, and is “{said}”.") from None
    if given < least:
        raise ImproperlyConfigured(f"{name} must be at least {least}, and is {given}.")
    if most is not None and given > most:
        raise ImproperlyConfigured(f"{name} must be at most {most}, and is {given}.")
    return given


def names(environ: Environ, name: str, usual: str = "") -> list[str]:
    """What stands between commas, without the blanks around it."""
    return [part.strip() for part in text(environ, name, usual).split(",") if part.strip()]


def time_zone(environ: Environ, name: str, usual: str) -> str:
    said = text(environ, name, usual)
    try:
        ZoneInfo(said)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ImproperlyConfigured(
            f"{name} must be a time zone such as Europe/London, and is “{said}”."
        ) from None
    return said


def addresses(environ: Environ, name: str) -> tuple[Network | str, ...]:
    """Addresses and networks, "10.0.0.7, 172.16.0.0/12", and `UNIX_SOCKET`."""
    said = names(environ, name)
    try:
        return tuple(each if each == UNIX_SOCKET else ip_network(each) for each in said)
    except ValueError as wrong:
        raise ImproperlyConfigured(
            f"{name} must be addresses or networks with commas between, such as "
            f"“10.0.0.7, 172.16.0.0/12”: {wrong}."
        ) from None


def mail_address(environ: Environ, name: str) -> str:
    """One address, or "" where none is given."""
    said = text(environ, name)
    if said:
        try:
            validate_email(said)
        except ValidationError:
            raise ImproperlyConfigured(
                f"{name} must be one mail address, and is “{said}”."
            ) from None
    return said
