"""Which names and addresses are this machine's own. DEMO=1 and DEBUG=1 answer to no others: their
secret key is known to everybody, their cookies travel unencrypted, and the demo's doors open by a
click."""

from collections.abc import Iterable
from ipaddress import ip_address

from django.core.exceptions import ImproperlyConfigured


def is_this_machine(host: str) -> bool:
    """Of a name or an address, in brackets or not. "" is every address there is, so it is not."""
    bare = host.removeprefix("[").removesuffix("]").lower()
    try:
        return ip_address(bare).is_loopback
    except ValueError:
        return bare == "localhost"


def refuse_others(switch: str, hosts: Iterable[str]) -> None:
    """Raises ImproperlyConfigured for what others could reach; `switch` is "DEMO" or "DEBUG"."""
    if others := [host for host in hosts if not is_this_machine(host)]:
        raise ImproperlyConfigured(
            f"{switch}=1 is for this machine alone, and {', '.join(others)} can be reached by "
            f"others. Leave {switch} out to serve a club, or keep to 127.0.0.1."
        )
