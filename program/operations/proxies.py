"""Who a visitor is where proxies stand in front, and whether they came by https.

Anybody may send the headers in which proxies say so. They are believed where they come from an
address in `TRUSTED_PROXIES` alone, and `X-Forwarded-For` is read from its end, where the proxy next
to us has written: what a visitor wrote into it stands before that. Limits of sign-ins go by the
address found here.
"""

from collections.abc import Callable, Collection
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address
from typing import Final

from django.conf import settings
from django.http import HttpRequest
from django.http.response import HttpResponseBase

type Address = IPv4Address | IPv6Address
type Network = IPv4Network | IPv6Network
type Answering = Callable[[HttpRequest], HttpResponseBase]
type Trusted = Collection[Network | str]

UNIX_SOCKET: Final = "unix"
"""Stands among trusted proxies for one that comes through a Unix socket and has no address."""


def know_the_visitor(get_response: Answering) -> Answering:
    """Middleware; before everything that asks where a request comes from.

    Where no proxy is named, `X-Forwarded-Proto` is believed of anybody, as the proxy that ends TLS
    sets it whatever a visitor sent, and a visitor's address is that of whoever is next to us.
    """

    def middleware(request: HttpRequest) -> HttpResponseBase:
        if trusted := settings.TRUSTED_PROXIES:
            _believe(request, trusted)
        return get_response(request)

    return middleware


def _believe(request: HttpRequest, trusted: Trusted) -> None:
    told = request.META
    peer, forwarded = told.get("REMOTE_ADDR", ""), told.pop("HTTP_X_FORWARDED_FOR", "")
    if not _is_trusted(peer, trusted):
        told.pop("HTTP_X_FORWARDED_PROTO", None)
    told["REMOTE_ADDR"] = visitor_of(peer, forwarded, trusted)


def visitor_of(peer: str, forwarded: str, trusted: Trusted) -> str:
    """The last address that no trusted proxy stands for; `peer` where nothing else is known."""
    visitor = peer
    for said in reversed(forwarded.split(",")):
        if not _is_trusted(visitor, trusted):
            break
        address = _read(said)
        if address is None:
            break
        visitor = str(address)
    return visitor


def _is_trusted(address: str, trusted: Trusted) -> bool:
    read = _read(address)
    if read is None:
        return address == "" and UNIX_SOCKET in trusted
    return any(read in each for each in trusted if not isinstance(each, str))


def _read(said: str) -> Address | None:
    """An address, which may stand in brackets and before a port."""
    said = said.strip()
    if said.startswith("["):
        said = said[1:].partition("]")[0]
    elif said.count(":") == 1:
        said = said.partition(":")[0]
    try:
        address = ip_address(said)
    except ValueError:
        return None
    mapped = address.ipv4_mapped if isinstance(address, IPv6Address) else None
    return mapped or address
