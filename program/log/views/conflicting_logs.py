"""Two logs of one session: both are shown, and somebody chooses."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from athletes.family_frame import family_page
from athletes.health_views import looked_at
from library.shared.access import Request, for_signed_in
from program.common.loaders import assigned_or_404
from program.log.phone_inbox import KeptLog, choose
from program.models import AssignedSession, Submission


@require_http_methods(["GET", "POST"])
@for_signed_in
def kept_logs(request: Request, child_id: uuid.UUID, assigned_id: uuid.UUID) -> HttpResponse:
    """The logs that came after another one, beside the one that stands."""
    session = assigned_or_404(request.user, child_id, assigned_id)
    looked_at(request, session.child)
    kept = Submission.objects.visible_to(request.user).undecided().filter(assigned_session=session)
    if request.method == "POST":
        return _chosen(request, session, kept.filter(pk=_id(request)).first())
    context = {
        "session": session,
        "log": getattr(session, "completion", None),
        "reports": session.pain_reports.all(),
        "kept": [KeptLog(row) for row in kept],
    }
    return family_page(request, "program/log/conflicting_logs.html", session.child, context)


def _id(request: Request) -> uuid.UUID:
    try:
        return uuid.UUID(request.POST.get("kept", ""))
    except ValueError:
        raise Http404 from None


def _chosen(request: Request, session: AssignedSession, row: Submission | None) -> HttpResponse:
    if row is None:
        messages.success(request, "Somebody has chosen already.")
    elif request.POST.get("act") == "take":
        why_not = choose(row, request.user, timezone.now())
        messages.success(request, why_not or "That log now stands.")
    else:
        row.settle()
        messages.success(request, "The log stays as it was.")
    return redirect("program:session_day", session.child.public_id, session.public_id)
