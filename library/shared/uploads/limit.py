"""What is far too large is refused before a byte of it is read."""

from collections.abc import Callable
from typing import Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from library.shared.uploads.kinds import MEGABYTE, MOST_BYTES

MOST: Final = max(MOST_BYTES.values()) + 8 * MEGABYTE
"""Bytes of a whole request: more than a form's field takes, so that the field can say so."""

type Answering = Callable[[HttpRequest], HttpResponse]


def refuse_huge_bodies(get_response: Answering) -> Answering:
    """Middleware; after those that know who asks, before anything reads what was sent."""

    def middleware(request: HttpRequest) -> HttpResponse:
        said = request.META.get("CONTENT_LENGTH") or "0"
        if said.isdecimal() and int(said) > MOST:
            return render(request, "413.html", {"most": MOST // MEGABYTE}, status=413)
        return get_response(request)

    return middleware
