"""How a child grows: agreed to by a guardian, measured now and then, read as a band."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.family_frame import family_page
from athletes.forms.measurements import MeasurementForm
from athletes.health_views import looked_at
from athletes.loaders import child_for_adults_or_404, measurement_in_or_404
from athletes.measurements import agree, growth_of, stop
from athletes.models import Child, GrowthConsent
from library.shared.access import Request, for_signed_in

PAGE = "athletes:growth"


@require_http_methods(["GET", "POST"])
@for_signed_in
def growth(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """What was measured and what it says, and a form to add to it while a guardian agrees."""
    child = child_for_adults_or_404(request.user, public_id)
    looked_at(request, child)
    consent = GrowthConsent.objects.filter(child=child).select_related("given_by").first()
    grown = growth_of(request.user, child)
    form = MeasurementForm(request.POST or None, growth=grown, with_mass=request.user.is_coach)
    if request.method == "POST" and consent and form.is_valid():
        form.save(request.user)
        messages.success(request, f"{child.given_name}’s height is written down.")
        return redirect(PAGE, child.public_id)
    context = {
        "form": form,
        "consent": consent,
        "growth": grown,
        "is_guardian": _is_guardian(request, child),
    }
    return family_page(request, "athletes/growth.html", child, context, same_for_others=PAGE)


@require_POST
@for_signed_in
def growth_consent(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """A guardian agrees, or with `stop` takes it back and has everything deleted."""
    child = child_for_adults_or_404(request.user, public_id)
    if not _is_guardian(request, child):
        raise Http404
    if "stop" in request.POST:
        count = stop(child)
        messages.success(request, f"Stopped. {count} measurement{'s' * (count != 1)} deleted.")
    elif agree(child, request.user, timezone.now()):
        messages.success(request, f"Thank you. {child.given_name} may be measured.")
    return redirect(PAGE, child.public_id)


@require_POST
@for_signed_in
def measurement_out(request: Request, public_id: uuid.UUID, pk: int) -> HttpResponse:
    """Delete one measurement, for instance a slip of the tape."""
    child = child_for_adults_or_404(request.user, public_id)
    measurement_in_or_404(request.user, child, pk).delete()
    messages.success(request, "The measurement is deleted.")
    return redirect(PAGE, child.public_id)


def _is_guardian(request: Request, child: Child) -> bool:
    """Or the athlete, who has taken over."""
    return Child.objects.decided_by(request.user).contains(child)
