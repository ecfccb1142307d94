"""What came back of one child, for its coaches: all of it, and one logged session."""

import uuid

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from athletes.health_views import looked_at
from athletes.models import AccessRules, Child, Enrolment
from library.shared.access import Request, for_coaches
from library.shared.ids import whole_number
from program.common.loaders import remembered_child_or_404, remembered_session_or_404
from program.common.sport import with_sport
from program.engine.weeks import monday_of
from program.log.session_notes import note_of
from program.review.child_page import A_PAGE, child_page
from program.review.logged_sessions import Return, of_child


@require_GET
@for_coaches
def child_review(request: Request, child_id: uuid.UUID) -> HttpResponse:
    today = timezone.localdate()
    child = remembered_child_or_404(request.user, child_id, **with_sport(monday_of(today)))
    looked_at(request, child)
    if child.is_left:  # type: ignore[attr-defined]
        return _left(request, child)
    number = whole_number(request.GET.get("page"))
    page = child_page(request.user, child, today, number or 1)
    return render(request, "program/review/child.html", {"child": child, "page": page})


def _left(request: Request, child: Child) -> HttpResponse:
    """What a coach may still read of a child that has left the own cohorts."""
    page = Paginator(of_child(request.user, child), A_PAGE).get_page(request.GET.get("page"))
    context = {
        "child": child,
        "page": page,
        "returns": [Return(each, timezone.localdate()) for each in page],
        "enrolments": Enrolment.objects.remembered_by(request.user)
        .filter(child=child)
        .select_related("cohort"),
        "rules": AccessRules.objects.current(),
    }
    return render(request, "program/review/left.html", context)


@require_GET
@for_coaches
def session_review(request: Request, child_id: uuid.UUID, assigned_id: uuid.UUID) -> HttpResponse:
    """One assigned session: what was asked and what came of it. What a finding rests on leads
    here."""
    session = remembered_session_or_404(request.user, child_id, assigned_id)
    looked_at(request, session.child)
    context = {
        "child": session.child,
        "each": Return(session, timezone.localdate()),
        "note": note_of(request.user, session.session),
    }
    return render(request, "program/review/session.html", context)
