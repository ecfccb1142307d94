"""What the builder's views answer with."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render

from library.shared.access import Request
from program.build import undoing
from program.build.page import Builder
from program.common.loaders import written_session_or_404


def builder_of(request: Request, session_id: int, **said: Any) -> Builder:
    session = written_session_or_404(request.user, session_id)
    return Builder(session, undoing.edits_of(request.session, session_id), **said)


def show(
    request: Request,
    builder: Builder,
    template: str = "builder.html",
    status: int = 200,
    **more: Any,
) -> HttpResponse:
    """The page, or the piece of it that `template` holds."""
    context = {"builder": builder, **more}
    return render(request, f"program/build/{template}", context, status=status)


def answer(request: Request, session_id: int, status: int = 200, **said: Any) -> HttpResponse:
    """What a change of the session's make-up is answered with: all its parts, or the page anew."""
    if status == 200 and not request.htmx:
        return redirect("program:build", session_id)
    builder = builder_of(request, session_id, **said)
    template = "answers.html#parts" if request.htmx else "builder.html"
    return show(request, builder, template, status)
