import uuid

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from athletes.health_views import looked_at
from athletes.loaders import is_family_of
from athletes.models.circumstances import REGION_CHOICES
from library.shared.access import Request, for_signed_in
from program.common.addresses import address
from program.common.devices import owner_key
from program.common.loaders import notes_on
from program.common.wording import CAUTION
from program.family.day_page import SessionPage
from program.family.follow_along import follow_data
from program.family.loaders import to_follow_or_404
from program.fit.forbidden import forbidden_in
from program.fit.held_back import held_back
from program.log.forms import LogForm
from program.log.pain_fields import SIDES_THAT_HURT
from program.models import AssignedSession, PainReport, PainReportQuerySet, SafetyRules
from program.models.pain import COUNTED, SIGN_CHOICES, SYMPTOM_CHOICES


def _reports_of(session: AssignedSession) -> PainReportQuerySet:
    since = timezone.now() - COUNTED
    return PainReport.objects.filter(reported_at__gte=since).about([session.child])


@require_GET
@for_signed_in
def follow(request: Request, child_id: uuid.UUID, assigned_id: uuid.UUID) -> HttpResponse:
    """One session, full screen, to be done along with."""
    session = to_follow_or_404(request.user, child_id, assigned_id)
    if not session.may_be_done or held_back([session.child_id], session.date):
        return redirect(address(session, session.child))
    looked_at(request, session.child)
    # What is not begun holds nothing forbidden; what is, stays as it was sent.
    forbidden = forbidden_in(session) if session.is_touched else ()
    context = {
        "session": session,
        "child": session.child,
        "as_family": is_family_of(request.user, session.child),
        "page": SessionPage(session),
        "data": follow_data(session, notes_on(session), _reports_of(session), forbidden),
        "rules": SafetyRules.objects.current(),
        "symptoms": SYMPTOM_CHOICES,
        "signs": SIGN_CHOICES,
        "form": LogForm(session),
        "seen": session.mark,
        "regions": REGION_CHOICES,
        "sides": SIDES_THAT_HURT,
        "levels": range(1, 11),
        "caution": CAUTION,
        "owner": owner_key(request.user),
    }
    return render(request, "program/family/follow_along.html", context)
