"""Sending a session, a week or one child's choice to the families."""

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.mailing import origin_of
from library.shared.access import Request, for_coaches
from program.checks.naming import with_names
from program.checks.session_checks import KeptResult
from program.common.edit_conflicts import is_unseen, mark_of
from program.common.loaders import block_or_404, session_or_404
from program.engine.checks import RULES
from program.engine.wording import listed, plural
from program.models import Session
from program.publish.forms import ReasonForm
from program.publish.landing import LandingForm, not_placed_on_landing
from program.publish.publishing import (
    NotThereAnyMore,
    Published,
    PublishInProgress,
    PublishNeedsReason,
    PublishRefused,
)
from program.publish.publishing import publish as publish_session
from program.publish.several import Attempt, publish_each


@require_POST
@for_coaches
def publish(request: Request, session_id: int) -> HttpResponse:
    session = session_or_404(request.user, session_id)
    if is_unseen(request.POST.get("version"), session.version):
        messages.warning(
            request,
            f"{_editor(request, session.edited_by)} changed this session since you opened it. "
            "Nothing was published. Look at it as it is now, then publish.",
        )
        return redirect(_back_to(request), session_id)
    form = ReasonForm(request.POST if "because" in request.POST else None)
    try:
        _publish(request, session, form.because_written)
    except PublishNeedsReason as needed:
        stops = with_names(map(KeptResult, needed.stops), request.user)
        context = {
            "session": session,
            "stops": stops,
            "form": form,
            "sent": [name for name in ("incomplete", "from_fit") if name in request.POST],
        }
        return render(request, "program/publish/reason.html", context, status=422)
    return redirect(_back_to(request), session_id)


def _back_to(request: Request) -> str:
    """The page it was published from."""
    return "program:who_gets_what" if "from_fit" in request.POST else "program:build"


def _publish(request: Request, session: Session, because: str) -> None:
    try:
        done = publish_session(
            session,
            by=request.user,
            now=timezone.now(),
            because=because,
            goes_out_incomplete="incomplete" in request.POST,
            origin=origin_of(request),
        )
    except PublishNeedsReason:
        raise
    except PublishRefused as why:
        messages.error(request, str(why))
    except NotThereAnyMore:
        raise Http404 from None
    except PublishInProgress:
        messages.warning(
            request, "Somebody else is publishing or changing this session right now. Try again."
        )
    else:
        nobody = replace(done, said_again=()) == Published()
        tell = messages.warning if done.held or nobody else messages.success
        tell(request, published_in_words(done))
        _say_again(request, done)


def _say_again(request: Request, done: Published) -> None:
    for each in done.said_again:
        title = RULES[each.code].title
        messages.warning(request, f"{title} is switched off here. {each.sentence}")


def published_in_words(done: Published) -> str:
    """What publishing did, child by child, in one line."""
    told = [
        (done.new, "got it"),
        (done.replaced, "got it anew"),
        (done.unchanged, "had it already, unchanged"),
        (done.kept, "kept the one they have started"),
        (done.held, "did not get it: a choice is yours to make first"),
        (done.removed, "no longer have it"),
    ]
    counted = [f"{plural(count, 'child', 'children')} {what}" for count, what in told if count]
    return f"Published: {'; '.join(counted)}." if counted else "Nobody is in this cohort that day."


def _editor(request: Request, editor: Any) -> str:
    return "Somebody" if editor in (None, request.user) else str(editor)


@require_POST
@for_coaches
def publish_week(request: Request, block_id: int, week: int) -> HttpResponse:
    """Publish every session of a week that the families have not got as it stands."""
    within = block_or_404(request.user, block_id)
    sessions = [s for s in within.sessions.order_by("date", "id") if within.week_of(s.date) == week]
    if not sessions:
        raise Http404
    if is_unseen(request.POST.get("mark"), mark_of(sessions)):
        said = "Somebody changed this week since you opened it. Nothing was published."
        messages.warning(request, f"{said} Look at it as it is now, then publish.")
        return redirect("program:block", block_id)
    waiting = [
        each
        for each in sessions
        if not each.is_called_off and (not each.is_published or each.is_edited_since_publishing)
    ]
    for attempt in publish_each(waiting, request.user, timezone.now(), origin_of(request)):
        _tell_of_week(request, attempt)
    return redirect("program:block", block_id)


def _tell_of_week(request: Request, attempt: Attempt) -> None:
    session, done = attempt.session, attempt.done
    if done is None:
        tell = messages.error if attempt.is_refused else messages.warning
        tell(request, f"{session}: {attempt.why}")
        return
    tell = messages.warning if done.held else messages.success
    tell(request, f"{session}. {published_in_words(done)}")
    _say_again(request, done)


@require_http_methods(["GET", "POST"])
@for_coaches
def place_on_landing(request: Request, session_id: int) -> HttpResponse:
    """Place whom a stop means on a landing pathway, and come back to publish."""
    session = session_or_404(request.user, session_id)
    form = LandingForm(not_placed_on_landing(session, request.user), request.POST or None)
    if request.method == "POST" and form.is_valid():
        placed = form.place(request.user)
        if placed:
            messages.success(request, f"{listed(map(str, placed))}: placed on landing.")
        return redirect("program:build", session_id)
    status = 422 if form.errors else 200
    context = {"session": session, "form": form}
    return render(request, "program/publish/place_on_landing.html", context, status=status)
