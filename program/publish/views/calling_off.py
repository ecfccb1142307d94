"""Calling a published session off, and moving it to another day."""

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from library.shared.access import Request, for_coaches
from library.shared.dates import weekday_and_date
from program.checks.naming import with_names
from program.checks.session_checks import KeptResult
from program.common.loaders import locked_block_or_404, session_or_404
from program.engine.wording import plural
from program.models import Session
from program.publish import calling_off
from program.publish.calling_off import CannotCallOff
from program.publish.forms import CallOffForm, MoveForm
from program.publish.mail import tell_it_is_called_off, tell_it_is_moved, tell_it_takes_place
from program.publish.publishing import (
    NotThereAnyMore,
    PublishInProgress,
    PublishNeedsReason,
    PublishRefused,
)

PAGE = "program/publish/call_off.html"


@require_http_methods(["GET", "POST"])
@for_coaches
def call_off(request: Request, session_id: int) -> HttpResponse:
    """Call it off; the same page offers to move it."""
    session = session_or_404(request.user, session_id)
    form = CallOffForm(request.POST or None)
    if request.method == "GET":
        return _page(request, session)
    if not form.is_valid():
        return _page(request, session, 422, call_off_form=form)
    try:
        with transaction.atomic():
            because = form.cleaned_data["because"]
            told = calling_off.call_off(session, because, request.user, timezone.now())
            tell_it_is_called_off(request, told)
    except CannotCallOff as why:
        messages.warning(request, str(why))
    except NotThereAnyMore:
        raise Http404 from None
    else:
        messages.success(request, f"{session} is called off. {_told(len(told))}")
    return redirect("program:build", session_id)


@require_POST
@for_coaches
def takes_place(request: Request, session_id: int) -> HttpResponse:
    """It takes place after all."""
    session = session_or_404(request.user, session_id)
    try:
        with transaction.atomic():
            told = calling_off.take_place_after_all(session, timezone.now())
            tell_it_takes_place(request, told)
    except CannotCallOff as why:
        messages.warning(request, str(why))
    except NotThereAnyMore:
        raise Http404 from None
    else:
        messages.success(request, f"{session} takes place after all. {_told(len(told))}")
    return redirect("program:build", session_id)


@require_POST
@for_coaches
def move_session(request: Request, session_id: int) -> HttpResponse:
    """Publish it on another day. Where a check says stop, its reason is asked for first."""
    session = session_or_404(request.user, session_id)
    form = MoveForm(request.POST)
    if not form.is_valid():
        return _page(request, session, 422, move_form=form)
    day, because = form.cleaned_data["day"], form.cleaned_data.get("because", "")
    try:
        with transaction.atomic():
            locked_block_or_404(request.user, session.block_id)
            told = calling_off.move_published(session, day, request.user, timezone.now(), because)
            tell_it_is_moved(request, told)
    except PublishNeedsReason as needed:
        form.ask_why()
        stops = with_names(map(KeptResult, needed.stops), request.user)
        return _page(request, session, 422, move_form=form, stops=stops)
    except (CannotCallOff, PublishRefused) as why:
        messages.warning(request, str(why))
        return redirect("program:call_off", session_id)
    except PublishInProgress:
        messages.warning(request, "Somebody else is publishing or changing it. Try again.")
        return redirect("program:call_off", session_id)
    except NotThereAnyMore:
        raise Http404 from None
    messages.success(request, f"{session} is on {weekday_and_date(day)}. {_told(len(told))}")
    return redirect("program:build", session_id)


def _told(children: int) -> str:
    if not children:
        return "Nobody had it, so nobody is told."
    return f"The families of {plural(children, 'child', 'children')} are told."


def _page(request: Request, session: Session, status: int = 200, **shown: Any) -> HttpResponse:
    context = {
        "session": session,
        "call_off_form": CallOffForm(),
        "move_form": MoveForm(initial={"day": session.date}),
        "begun": session.assigned.touched().count(),
    }
    return render(request, PAGE, context | shown, status=status)
