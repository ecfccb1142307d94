"""Fit, as the coach sees it: counts beside the builder's slots, the whole table, one decision."""

from collections.abc import Sequence

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from athletes.health_views import looked_at
from athletes.models import Child
from library.shared.access import Request, for_coaches
from program.common.loaders import session_with_slots_or_404
from program.fit.child_volumes import child_volumes
from program.fit.who_gets_what import WhoGetsWhat, children_of, who_gets_what
from program.models import PainReport

PAGE = "program/fit/who_gets_what.html"


@require_GET
@for_coaches
def fit_counts(request: Request, session_id: int) -> HttpResponse:
    """How many children get each slot as written, easier, harder; for the builder's margin."""
    session = session_with_slots_or_404(request.user, session_id)
    children = children_of(session)
    sheet = who_gets_what(session, children, request.user)
    unanswered = _unanswered(request, sheet, children)
    context = {"sheet": sheet, "session": session, "unanswered": unanswered}
    return render(request, f"{PAGE}#counts", context)


@require_GET
@for_coaches
def whole_table(request: Request, session_id: int) -> HttpResponse:
    session = session_with_slots_or_404(request.user, session_id)
    children = children_of(session)
    sheet = who_gets_what(session, children, request.user)
    is_filtered = "different" in request.GET
    context = {
        "sheet": sheet,
        "session": session,
        "rows": sheet.different_rows if is_filtered else sheet.rows,
        "is_filtered": is_filtered,
        "unanswered": _unanswered(request, sheet, children),
    }
    return render(request, PAGE, context)


def _unanswered(
    request: Request, sheet: WhoGetsWhat, children: Sequence[Child]
) -> list[PainReport]:
    """The reports that wait for an answer. Whoever these and the sheet tell of is looked at."""
    unanswered = list(PainReport.objects.unanswered().about(children))
    looked_at(request, *sheet.told_of, *(each.child for each in unanswered))
    return unanswered


@require_GET
@for_coaches
def volumes(request: Request, session_id: int) -> HttpResponse:
    """What each child will really do, added up after fitting."""
    session = session_with_slots_or_404(request.user, session_id)
    sheet = child_volumes(session, children_of(session), request.user)
    return render(request, "program/fit/child_volumes.html", {"sheet": sheet, "session": session})
