import uuid

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from athletes.consent_texts import WORDS_NOT_KEPT
from athletes.family_frame import family_page
from athletes.health_views import looked_at
from athletes.loaders import is_family_of
from library.shared.access import Request, for_whoever_reports
from program.common.loaders import assigned_or_404
from program.common.wording import CAUTION
from program.log.forms import LogForm
from program.log.logbook import SAVE_AGAIN, LogRefused, write_log
from program.log.pain_fields import pain_in_log
from program.log.pain_reports import report_pain, reporting_of
from program.models import AssignedSession, CompletionState


@require_http_methods(["GET", "POST"])
@for_whoever_reports
def log(request: Request, child_id: uuid.UUID, assigned_id: uuid.UUID) -> HttpResponse:
    session = assigned_or_404(request.user, child_id, assigned_id)
    looked_at(request, session.child)
    if request.method == "GET" and session.is_called_off:
        return redirect("program:session_day", child_id, assigned_id)
    if request.method == "POST" and (hurt := pain_in_log(request.POST, session)):
        is_begun = request.POST.get("state") != CompletionState.NOT_DONE
        report_pain(session.child, hurt, reporting_of(request), session, is_begun=is_begun)
        session = assigned_or_404(request.user, child_id, assigned_id)
    form = LogForm(session, request.POST or None)
    refusal = ""
    if request.method == "POST" and form.is_valid():
        try:
            _write(request, session, form)
        except LogRefused as refused:
            refusal = f"{refused} {SAVE_AGAIN}"
            session = assigned_or_404(request.user, child_id, assigned_id)
            form = LogForm(session, request.POST)
        else:
            return _written(request, session, form)
    shown = request.POST.get("seen") if request.POST and not refusal else session.mark
    context = {
        "session": session,
        "form": form,
        "seen": shown,
        "refusal": refusal,
        "reports": session.pain_reports.all(),
        "caution": CAUTION,
    }
    return family_page(request, "program/log/log.html", session.child, context)


def _write(request: Request, session: AssignedSession, form: LogForm) -> None:
    write_log(
        session,
        form.entry,
        by=request.user,
        now=timezone.now(),
        seen=request.POST.get("seen", ""),
    )


def _written(request: Request, session: AssignedSession, form: LogForm) -> HttpResponse:
    name = session.child.given_name
    told = " The coach is told what hurt." if form.pain else ""
    told += f" {WORDS_NOT_KEPT}" if form.is_without_its_words else ""
    messages.success(request, f"Logged for {name}.{told}")
    if is_family_of(request.user, session.child):
        return redirect("program:session_day", session.child.public_id, session.public_id)
    return redirect("program:child_review", session.child.public_id)
