"""Taking away what is gone already, by another tab, another coach or a second press.

A form that takes something away carries its name, signed for the person it was shown to and for
the form's address. Where the thing is not there any more, that name says so in words. Whatever
carries none gets the 404 of what never was, and so does what is there and another's.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any, Final

from django.core.signing import BadSignature, Signer
from django.db.models import QuerySet
from django.http import Http404, HttpResponse

from library.shared.access import Request

FIELD: Final = "was"

type View = Callable[..., HttpResponse]
type Answer = Callable[..., HttpResponse]


def signed_name(user: Any, address: str, name: object) -> str:
    """The name of what a form at this address takes away, for its hidden field."""
    return _signer(user, address).sign(str(name))


def answered_if_already_deleted(
    rows: Callable[[], QuerySet[Any]], then: Answer
) -> Callable[[View], View]:
    """A decorator of a view whose last id is one of `rows`: where the view finds nothing and that
    row is gone, `then(request, name, *ids)` answers."""

    def decorate(view: View) -> View:
        @wraps(view)
        def asked(request: Request, **ids: Any) -> HttpResponse:
            try:
                return view(request, **ids)
            except Http404:
                name = _name_shown(request)
                if name is None or rows().filter(pk=[*ids.values()][-1]).exists():
                    raise
            return then(request, name, *ids.values())

        return asked

    return decorate


def already_deleted_message(name: str) -> str:
    return f"“{name}” was already gone."


def _name_shown(request: Request) -> str | None:
    """The first signed name of a form, which may be sent with those of its other rows."""
    signer = _signer(request.user, request.path)
    for signed in request.POST.getlist(FIELD):
        try:
            return signer.unsign(signed)
        except BadSignature:
            continue
    return None


def _signer(user: Any, address: str) -> Signer:
    return Signer(salt=f"gone:{user.pk}:{address}")
