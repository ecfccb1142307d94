"""What is at home, and what a child should be spared: asked by families and coaches alike."""

import uuid

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.changes import lift
from athletes.consent_texts import WORDS_NOT_KEPT
from athletes.family_frame import family_page
from athletes.forms.circumstances import KitForm, RestrictionForm
from athletes.health_views import looked_at
from athletes.home_kit import KitPage, items_at_home
from athletes.loaders import (
    child_for_adults_or_404,
    child_or_404,
    coached_child_or_404,
    is_family_of,
    restriction_in_or_404,
)
from athletes.models import Child, ConsentPurpose, RestrictionsOn
from athletes.models.consents import is_agreed_to
from library.shared.access import Request, for_coaches, for_signed_in, for_whoever_reports


@require_http_methods(["GET", "POST"])
@for_signed_in
def kit(request: Request, public_id: uuid.UUID) -> HttpResponse:
    child = child_for_adults_or_404(request.user, public_id)
    # Nothing ticked is an answer, too, and must be read as one.
    said = request.POST if request.method == "POST" else None
    form = KitForm(said, items=items_at_home())
    if request.method == "POST" and form.is_valid():
        form.save(child, request.user)
        messages.success(request, f"Thank you. What is at home for {child.given_name} is saved.")
        return _back(request, child)
    page = KitPage.of(child, request.user, form)
    template = "athletes/kit.html"
    return family_page(request, template, child, {"page": page}, same_for_others="athletes:kit")


def _back(request: Request, child: Child) -> HttpResponse:
    if is_family_of(request.user, child):
        return redirect("program:family")
    return redirect("athletes:child", child.public_id)


@require_http_methods(["GET", "POST"])
@for_whoever_reports
def restrictions(request: Request, public_id: uuid.UUID) -> HttpResponse:
    child = child_or_404(request.user, public_id)
    looked_at(request, child)
    today = timezone.localdate()
    form = RestrictionForm(
        request.POST or None,
        initial=_again(request),
        takes_words=is_agreed_to(ConsentPurpose.HEALTH_NOTES, child, today),
    )
    if request.method == "POST" and form.is_valid():
        done = form.restrict(child, request.user)
        messages.success(request, done.in_words)
        if form.is_without_its_words:
            messages.warning(request, WORDS_NOT_KEPT)
        return redirect("athletes:restrictions", child.public_id)
    rows = list(child.restrictions.with_people())
    stand = RestrictionsOn(rows, today)
    context = {
        "form": form,
        "can_lift": Child.objects.coached_by(request.user).contains(child),
        "in_force": stand.in_force,
        "to_come": stand.to_come,
        "over": stand.over,
        "past": [row for row in rows if row.lifted_on],
    }
    template, page = "athletes/restrictions.html", "athletes:restrictions"
    return family_page(request, template, child, context, same_for_others=page)


def _again(request: Request) -> dict[str, str]:
    """What a link asks to set once more."""
    return {name: request.GET[name] for name in ("region", "side", "kind") if name in request.GET}


@require_POST
@for_coaches
def lift_restriction(request: Request, public_id: uuid.UUID, pk: int) -> HttpResponse:
    """A coach says that it is fine again, early or after it ended by itself."""
    child = coached_child_or_404(request.user, public_id)
    restriction = restriction_in_or_404(child, pk)
    if lift(restriction, request.user, timezone.localdate()):
        messages.success(request, f"Noted: {child}’s {restriction.where} is fine again.")
    else:
        messages.info(request, "Somebody had noted that before.")
    return redirect("athletes:restrictions", child.public_id)
