"""What came back of one child, for its coaches: all of it, and one logged session."""

import uuid

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from athletes.loaders import child_or_404
from library.shared.access import Request, for_coaches
from library.shared.ids import whole_number
from program.common.loaders import assigned_or_404
from program.log.session_notes import note_of
from program.review.child_page import child_page
from program.review.logged_sessions import Return


@require_GET
@for_coaches
def child_review(request: Request, child_id: uuid.UUID) -> HttpResponse:
    child = child_or_404(request.user, child_id)
    number = whole_number(request.GET.get("page"))
    page = child_page(request.user, child, timezone.localdate(), number or 1)
    return render(request, "program/review/child.html", {"child": child, "page": page})


@require_GET
@for_coaches
def session_review(request: Request, child_id: uuid.UUID, assigned_id: uuid.UUID) -> HttpResponse:
    """One assigned session: what was asked and what came of it. What a finding rests on leads
    here."""
    session = assigned_or_404(request.user, child_id, assigned_id)
    context = {
        "child": session.child,
        "each": Return(session, timezone.localdate()),
        "note": note_of(request.user, session.session),
    }
    return render(request, "program/review/session.html", context)
