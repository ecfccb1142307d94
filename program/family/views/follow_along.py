import uuid

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from athletes.models.circumstances import REGION_CHOICES
from library.shared.access import Request, for_signed_in
from program.common.addresses import address
from program.common.devices import owner_key
from program.common.loaders import assigned_or_404, notes_on
from program.common.wording import CAUTION
from program.family.day_page import SessionPage
from program.family.follow_along import follow_data
from program.log.forms import LogForm
from program.log.pain_fields import SIDES_THAT_HURT


@require_GET
@for_signed_in
def follow(request: Request, child_id: uuid.UUID, assigned_id: uuid.UUID) -> HttpResponse:
    """One session, full screen, to be done along with."""
    session = assigned_or_404(request.user, child_id, assigned_id)
    if session.is_closed:
        return redirect(address(session, session.child))
    context = {
        "session": session,
        "child": session.child,
        "page": SessionPage(session),
        "data": follow_data(session, notes_on(session)),
        "form": LogForm(session),
        "seen": session.mark,
        "regions": REGION_CHOICES,
        "sides": SIDES_THAT_HURT,
        "levels": range(1, 11),
        "caution": CAUTION,
        "owner": owner_key(request.user),
    }
    return render(request, "program/family/follow_along.html", context)
