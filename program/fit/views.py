"""Fit, as the coach sees it: counts beside the builder's slots, the whole table, one decision."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from athletes.invitation_mail import NOT_SENT, ask_about_kit
from athletes.models import Child
from library.shared.access import Request, for_coaches
from program.checks.session_checks import worth_a_look
from program.common.loaders import session_with_slots_or_404, written_session_or_404
from program.engine.fit.options import Option, options_for
from program.fit.child_volumes import child_volumes
from program.fit.fitting import FittedSession, fit
from program.fit.who_gets_what import cell_of, children_of, who_gets_what
from program.models import Override, Session, Slot
from program.publish import overrides
from program.publish.forms import LEAVE_OUT, DecisionForm, in_the_way

PAGE = "program/fit/who_gets_what.html"


@require_GET
@for_coaches
def fit_counts(request: Request, session_id: int) -> HttpResponse:
    """How many children get each slot as written, easier, harder; for the builder's margin."""
    session = session_with_slots_or_404(request.user, session_id)
    sheet = who_gets_what(session, children_of(session))
    return render(request, f"{PAGE}#counts", {"sheet": sheet, "session": session})


@require_GET
@for_coaches
def look(request: Request, session_id: int) -> HttpResponse:
    """What the checks find in the session as it stands; for the builder's panel."""
    session = written_session_or_404(request.user, session_id)
    return render(request, f"{PAGE}#look", {"looks": worth_a_look(session)})


@require_GET
@for_coaches
def whole_table(request: Request, session_id: int) -> HttpResponse:
    session = session_with_slots_or_404(request.user, session_id)
    sheet = who_gets_what(session, children_of(session))
    is_filtered = "different" in request.GET
    context = {
        "sheet": sheet,
        "session": session,
        "rows": sheet.different_rows if is_filtered else sheet.rows,
        "is_filtered": is_filtered,
    }
    return render(request, PAGE, context)


@require_GET
@for_coaches
def volumes(request: Request, session_id: int) -> HttpResponse:
    """What each child will really do, added up after fitting."""
    session = session_with_slots_or_404(request.user, session_id)
    sheet = child_volumes(session, children_of(session))
    return render(request, "program/fit/child_volumes.html", {"sheet": sheet, "session": session})


@require_http_methods(["GET", "POST"])
@for_coaches
def decision(request: Request, session_id: int, slot_id: int, child_id: uuid.UUID) -> HttpResponse:
    """One cell: why it is so, and the coach's own choice instead."""
    session, slot, child = _cell_or_404(request, session_id, slot_id, child_id)
    fitted = fit(session, [child])
    options = _options(fitted, slot, child)
    override = Override.objects.filter(slot=slot, child=child).select_related("exercise").first()
    form = DecisionForm(options, request.POST or None, initial=_initial(override))
    if request.method == "POST" and form.is_valid():
        note = form.cleaned_data["note"]
        overrides.decide(slot, child, form.chosen(), note, request.user, timezone.now())
        messages.success(request, f"{child}: your choice is kept, also when you publish again.")
        return redirect("program:who_gets_what", session.pk)
    context = {
        "form": form,
        "cell": cell_of(fitted, child, slot),
        "session": session,
        "override": override,
        "in_the_way": in_the_way(options),
    }
    return render(request, "program/publish/decision.html", context)


@require_POST
@for_coaches
def decision_back(
    request: Request, session_id: int, slot_id: int, child_id: uuid.UUID
) -> HttpResponse:
    session, slot, child = _cell_or_404(request, session_id, slot_id, child_id)
    overrides.take_back(slot, child, timezone.now())
    messages.success(request, f"{child}: fit decides again.")
    return redirect("program:who_gets_what", session.pk)


@require_POST
@for_coaches
def ask_family(
    request: Request, session_id: int, slot_id: int, child_id: uuid.UUID
) -> HttpResponse:
    """Ask the child's guardians by mail what is at home."""
    session, _, child = _cell_or_404(request, session_id, slot_id, child_id)
    asked = ask_about_kit(request, child)
    if asked is None:
        messages.error(request, NOT_SENT)
    elif asked:
        messages.success(request, f"{child}: the family is asked what is at home.")
    else:
        messages.warning(request, f"{child} has no guardian here yet. Invite one first.")
    return redirect("program:who_gets_what", session.pk)


def _cell_or_404(
    request: Request, session_id: int, slot_id: int, child_id: uuid.UUID
) -> tuple[Session, Slot, Child]:
    """A slot of this session and a child who gets it."""
    session = session_with_slots_or_404(request.user, session_id)
    slots = {slot.pk: slot for slot in session.all_slots()}
    child = (
        Child.objects.visible_to(request.user)
        .enrolled_in(session.block.cohort, session.date)
        .filter(public_id=child_id)
        .first()
    )
    if child is None or slot_id not in slots:
        raise Http404
    return session, slots[slot_id], child


def _options(fitted: FittedSession, slot: Slot, child: Child) -> tuple[Option, ...]:
    return options_for(slot.exercise.slug, fitted.circumstances[child.pk], fitted.library.fit)


def _initial(override: Override | None) -> dict[str, str]:
    if override is None:
        return {}
    choice = override.exercise.slug if override.exercise else LEAVE_OUT
    return {"choice": choice, "note": override.note}
