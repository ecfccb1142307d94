"""What each child will really do of a session, added up."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from library.shared.access import Request, for_coaches
from program.common.loaders import session_with_slots_or_404
from program.fit.child_volumes import child_volumes
from program.fit.who_gets_what import children_of


@require_GET
@for_coaches
def volumes(request: Request, session_id: int) -> HttpResponse:
    """What each child will really do, added up after fitting."""
    session = session_with_slots_or_404(request.user, session_id)
    sheet = child_volumes(session, children_of(session), request.user)
    return render(request, "program/fit/child_volumes.html", {"sheet": sheet, "session": session})
