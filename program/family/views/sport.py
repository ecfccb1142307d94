"""Sport outside the program: a family's usual week, and a single week that differs."""

import datetime as dt
import uuid

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.family_frame import family_page
from athletes.loaders import child_for_adults_or_404, is_family_of
from athletes.models import Child, DifferentWeek
from athletes.sport_elsewhere import UsualSport, say_usual, say_week
from library.shared.access import Request, for_signed_in
from program.common.sport import sport_of_child
from program.engine.weeks import monday_of
from program.family.forms import SportForm
from program.family.sport import AS_USUAL, PUT_OFF, PUT_OFF_FOR, SportPage, may_differ


@require_http_methods(["GET", "POST"])
@for_signed_in
def sport(request: Request, child_id: uuid.UUID) -> HttpResponse:
    child = child_for_adults_or_404(request.user, child_id)
    today = timezone.localdate()
    found = sport_of_child(child, today)
    form = SportForm(request.POST if request.method == "POST" else None, found=found)
    has_none = "none" in request.POST
    if request.method == "POST" and (has_none or form.is_valid()):
        usual = UsualSport() if has_none else form.usual
        say_usual(child, usual, monday_of(today), request.user, timezone.now())
        messages.success(request, f"Thank you. {child.given_name}’s sport elsewhere is saved.")
        is_told = SportPage(child, sport_of_child(child, today)).told
        return redirect("program:sport", child_id) if is_told else _back(request, child)
    context = {"page": SportPage(child, found), "form": form}
    template = "program/family/sport.html"
    return family_page(request, template, child, context, same_for_others="program:sport")


@require_POST
@for_signed_in
def sport_week(request: Request, child_id: uuid.UUID) -> HttpResponse:
    """A week differs from the usual one, or is as usual after all."""
    child = child_for_adults_or_404(request.user, child_id)
    today = timezone.localdate()
    monday, how = _monday_or_404(request.POST.get("week", "")), request.POST.get("how", "")
    if not may_differ(monday, today) or how not in {AS_USUAL, *DifferentWeek.How.values}:
        raise Http404
    different = None if how == AS_USUAL else DifferentWeek.How(how)
    say_week(child, monday, different, request.user, timezone.now())
    word = different.label if different else "as usual"
    messages.success(request, f"Noted. Sport elsewhere that week: {word}.")
    day = reverse("program:child_day", args=[child_id])
    return redirect(day if monday == monday_of(today) else f"{day}?day={monday:%Y-%m-%d}")


@require_POST
@for_signed_in
def sport_later(request: Request, child_id: uuid.UUID) -> HttpResponse:
    """Not now: where somebody is signed in, it is not asked again for two weeks."""
    child = child_for_adults_or_404(request.user, child_id)
    until = (timezone.localdate() + PUT_OFF_FOR).isoformat()
    request.session[PUT_OFF] = request.session.get(PUT_OFF, {}) | {str(child.public_id): until}
    return _back(request, child)


def _monday_or_404(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise Http404 from None


def _back(request: Request, child: Child) -> HttpResponse:
    family = is_family_of(request.user, child)
    return redirect("program:child_day" if family else "program:child_review", child.public_id)
