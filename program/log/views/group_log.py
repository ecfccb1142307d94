from typing import Any

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods
from django_htmx.http import HttpResponseClientRedirect

from athletes.health_views import looked_at
from library.shared.access import TO_SEND, Request, requires
from program.common.devices import owner_key
from program.common.edit_conflicts import EditConflict
from program.common.loaders import session_or_404
from program.common.wording import CAUTION, EFFORT
from program.log.group_log import GroupLogForm, all_as_planned, group_of
from program.log.in_the_hall import NoteRefused, without_it
from program.log.logbook import LogRefused
from program.log.pain_reports import reporting_of
from program.log.session_notes import note_of
from program.models import Session

PAGE = "program/log/group_log.html"


@require_http_methods(["GET", "POST"])
@requires(lambda person: person.is_coach, without_second_factor=TO_SEND)
def group_log(request: Request, session_id: int) -> HttpResponse:
    """Log a session for everybody who has it. `as_planned` fills the form and saves nothing."""
    session = session_or_404(request.user, session_id)
    if request.method == "GET":
        return _page(request, session, _form(request, session))
    if "as_planned" in request.POST:
        filled = all_as_planned(request.POST, group_of(request.user, session))
        return _page(request, session, _form(request, session, filled))
    form = _form(request, session, request.POST)
    if session.date <= timezone.localdate():
        form.report_what_hurts(reporting_of(request))
    if not form.is_valid() or session.date > timezone.localdate():
        return _page(request, session, form, status=422)
    try:
        written = form.save(request.user, timezone.now())
    except LogRefused as refused:
        return _refused(request, session, refusals=refused.why)
    except NoteRefused as refused:
        return _refused(request, session, not_noted=refused.why)
    except EditConflict as refused:
        return _refused(request, session, note_refusal=str(refused))
    messages.success(request, written)
    return HttpResponseClientRedirect(request.path) if request.htmx else redirect(request.path)


def _refused(request: Request, session: Session, **why: Any) -> HttpResponse:
    """What was typed, beside what stands by now."""
    return _page(request, session, _form(request, session, request.POST, **why), status=409)


def _form(
    request: Request, session: Session, data: QueryDict | None = None, **why: Any
) -> GroupLogForm:
    group, note = group_of(request.user, session), note_of(request.user, session)
    not_sent = without_it(request.user, session, group)
    return GroupLogForm(session, group, note, data, not_sent=not_sent, **why)


def _page(
    request: Request, session: Session, form: GroupLogForm, status: int = 200
) -> HttpResponse:
    looked_at(request, *form.told_of)
    context = {
        "session": session,
        "form": form,
        "is_to_come": session.date > timezone.localdate(),
        "caution": CAUTION,
        "effort": EFFORT,
        "owner": owner_key(request.user),
        "refused": status != 200,
    }
    template = f"{PAGE}#group" if request.htmx else PAGE
    return render(request, template, context, status=status)
