"""How a child grows: measured now and then while the family agrees, read as a band; and until when
its coaches go gently because of it."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.changes import set_growing_fast
from athletes.family_frame import family_page
from athletes.forms.measurements import MeasurementForm
from athletes.forms.membership import GrowingForm
from athletes.health_views import looked_at
from athletes.loaders import (
    child_for_adults_or_404,
    coached_child_or_404,
    measurement_in_or_404,
)
from athletes.measurements import growth_of
from athletes.models import Child, ConsentPurpose
from athletes.models.consents import is_agreed_to
from library.shared.access import Request, for_coaches, for_signed_in
from library.shared.dates import date_in_words

PAGE = "athletes:growth"


@require_http_methods(["GET", "POST"])
@for_signed_in
def growth(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """What was measured and what it says, and a form to add to it while the family agrees."""
    child = child_for_adults_or_404(request.user, public_id)
    looked_at(request, child)
    context = _context(request, child)
    form = MeasurementForm(
        request.POST or None, growth=context["growth"], with_mass=request.user.is_coach
    )
    if request.method == "POST" and context["may_be_measured"] and form.is_valid():
        form.save(request.user)
        messages.success(request, f"{child.given_name}’s height is written down.")
        return redirect(PAGE, child.public_id)
    return _page(request, child, context | {"form": form})


@require_POST
@for_coaches
def growing(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """Go gently until a day; the button “No longer” asks for no day."""
    child = coached_child_or_404(request.user, public_id)
    looked_at(request, child)
    if "no_longer" in request.POST:
        set_growing_fast(child, None)
        messages.success(request, f"{child} trains without this caution again.")
        return redirect(PAGE, child.public_id)
    form = GrowingForm(request.POST)
    if not form.is_valid():
        context = _context(request, child) | {"growing_form": form}
        unsent = MeasurementForm(None, growth=context["growth"], with_mass=True)
        return _page(request, child, context | {"form": unsent})
    until = form.cleaned_data["until"]
    set_growing_fast(child, until)
    messages.success(
        request,
        f"Until {date_in_words(until)}, landings are halved for {child} and nothing gets harder.",
    )
    return redirect(PAGE, child.public_id)


def _context(request: Request, child: Child) -> dict[str, Any]:
    today = timezone.localdate()
    coached = Child.objects.coached_by(request.user)
    return {
        "is_coaching": request.user.is_coach and coached.contains(child),
        "may_be_measured": is_agreed_to(ConsentPurpose.MEASUREMENTS, child, today),
        "growth": growth_of(request.user, child),
        "grows_fast": child.grows_fast_on(today),
        "growing_form": GrowingForm(initial={"until": child.growing_fast_until}),
    }


def _page(request: Request, child: Child, context: dict[str, Any]) -> HttpResponse:
    return family_page(request, "athletes/growth.html", child, context, same_for_others=PAGE)


@require_POST
@for_signed_in
def measurement_out(request: Request, public_id: uuid.UUID, pk: int) -> HttpResponse:
    """Delete one measurement, for instance a slip of the tape."""
    child = child_for_adults_or_404(request.user, public_id)
    measurement_in_or_404(request.user, child, pk).delete()
    messages.success(request, "The measurement is deleted.")
    return redirect(PAGE, child.public_id)
