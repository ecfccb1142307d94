"""How a child grows: measured now and then while the family agrees, read as a band."""

import uuid

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.family_frame import family_page
from athletes.forms.measurements import MeasurementForm
from athletes.health_views import looked_at
from athletes.loaders import child_for_adults_or_404, measurement_in_or_404
from athletes.measurements import growth_of
from athletes.models import ConsentPurpose
from athletes.models.consents import is_agreed_to
from library.shared.access import Request, for_signed_in

PAGE = "athletes:growth"


@require_http_methods(["GET", "POST"])
@for_signed_in
def growth(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """What was measured and what it says, and a form to add to it while the family agrees."""
    child = child_for_adults_or_404(request.user, public_id)
    looked_at(request, child)
    may_be_measured = is_agreed_to(ConsentPurpose.MEASUREMENTS, child, timezone.localdate())
    grown = growth_of(request.user, child)
    form = MeasurementForm(request.POST or None, growth=grown, with_mass=request.user.is_coach)
    if request.method == "POST" and may_be_measured and form.is_valid():
        form.save(request.user)
        messages.success(request, f"{child.given_name}’s height is written down.")
        return redirect(PAGE, child.public_id)
    context = {"form": form, "may_be_measured": may_be_measured, "growth": grown}
    return family_page(request, "athletes/growth.html", child, context, same_for_others=PAGE)


@require_POST
@for_signed_in
def measurement_out(request: Request, public_id: uuid.UUID, pk: int) -> HttpResponse:
    """Delete one measurement, for instance a slip of the tape."""
    child = child_for_adults_or_404(request.user, public_id)
    measurement_in_or_404(request.user, child, pk).delete()
    messages.success(request, "The measurement is deleted.")
    return redirect(PAGE, child.public_id)
