"""A form that makes something has a key in its address, which going back in the browser keeps: what
is sent from there again is meant for what it made before, not for another one."""

from typing import TYPE_CHECKING
from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.http import HttpResponse
from django.shortcuts import redirect

if TYPE_CHECKING:
    from library.shared.access import Request


def form_key(request: "Request") -> UUID | None:
    try:
        return UUID(request.GET.get("form", ""))
    except ValueError:
        return None


def at_a_new_key(request: "Request") -> HttpResponse:
    """To the same form, with a key of its own."""
    return redirect(f"{request.path}?{urlencode(request.GET.dict() | {'form': str(uuid4())})}")
