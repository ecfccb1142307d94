"""Sending a session, a week or one child's choice to the families."""

import uuid
from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.health_views import looked_at
from athletes.invitation_mail import ask_about_kit
from athletes.models import Child
from library.shared.access import Request, for_coaches
from program.checks.naming import with_names
from program.checks.session_checks import KeptResult
from program.common import deleted_items
from program.common.edit_conflicts import is_unseen, mark_of
from program.common.loaders import block_or_404, session_or_404, session_with_slots_or_404
from program.engine.checks import RULES
from program.engine.wording import listed, plural
from program.fit.fitting import fit
from program.fit.who_gets_what import cell_of
from program.models import Override, Session, Slot
from program.publish import overrides
from program.publish.forms import LEAVE_OUT, DecisionForm, ReasonForm
from program.publish.landing import LandingForm, not_placed_on_landing
from program.publish.overrides import ChoiceNeedsReason
from program.publish.own_choices import choices_of
from program.publish.publishing import (
    NotThereAnyMore,
    Published,
    PublishInProgress,
    PublishNeedsReason,
    PublishRefused,
)
from program.publish.publishing import publish as publish_session


@require_POST
@for_coaches
def publish(request: Request, session_id: int) -> HttpResponse:
    session = session_or_404(request.user, session_id)
    if is_unseen(request.POST.get("version"), session.version):
        messages.warning(
            request,
            f"{_editor(request, session.edited_by)} changed this session since you opened it. "
            "Nothing was published. Look at it as it is now, then publish.",
        )
        return redirect("program:build", session_id)
    form = ReasonForm(request.POST if "because" in request.POST else None)
    try:
        _publish(request, session, form.because_written)
    except PublishNeedsReason as needed:
        stops = with_names(map(KeptResult, needed.stops), request.user)
        context = {"session": session, "stops": stops, "form": form}
        return render(request, "program/publish/reason.html", context, status=422)
    return redirect("program:build", session_id)


def _publish(request: Request, session: Session, because: str) -> None:
    try:
        done = publish_session(session, by=request.user, now=timezone.now(), because=because)
    except PublishNeedsReason:
        raise
    except PublishRefused as why:
        messages.error(request, str(why))
    except NotThereAnyMore:
        raise Http404 from None
    except PublishInProgress:
        messages.warning(
            request, "Somebody else is publishing or changing this session right now. Try again."
        )
    else:
        deleted_items.dismiss_all_of(request.session, session)
        nobody = replace(done, said_again=()) == Published()
        tell = messages.warning if done.held or nobody else messages.success
        tell(request, published_in_words(done))
        _say_again(request, done)


def _say_again(request: Request, done: Published) -> None:
    for each in done.said_again:
        title = RULES[each.code].title
        messages.warning(request, f"{title} is switched off here. {each.sentence}")


def published_in_words(done: Published) -> str:
    """What publishing did, child by child, in one line."""
    told = [
        (done.new, "got it"),
        (done.replaced, "got it anew"),
        (done.unchanged, "had it already, unchanged"),
        (done.kept, "kept the one they have started"),
        (done.held, "did not get it: a choice is yours to make first"),
        (done.removed, "no longer have it"),
    ]
    counted = [f"{plural(count, 'child', 'children')} {what}" for count, what in told if count]
    return f"Published: {'; '.join(counted)}." if counted else "Nobody is in this cohort that day."


def _editor(request: Request, editor: Any) -> str:
    return "Somebody" if editor in (None, request.user) else str(editor)


@require_POST
@for_coaches
def publish_week(request: Request, block_id: int, week: int) -> HttpResponse:
    """Publish every session of a week that the families have not got as it stands."""
    within = block_or_404(request.user, block_id)
    sessions = [s for s in within.sessions.order_by("date", "id") if within.week_of(s.date) == week]
    if not sessions:
        raise Http404
    if is_unseen(request.POST.get("mark"), mark_of(sessions)):
        said = "Somebody changed this week since you opened it. Nothing was published."
        messages.warning(request, f"{said} Look at it as it is now, then publish.")
        return redirect("program:block", block_id)
    for session in sessions:
        if session.is_called_off:
            continue
        if not session.is_published or session.is_edited_since_publishing:
            _publish_of_week(request, session)
    return redirect("program:block", block_id)


def _publish_of_week(request: Request, session: Session) -> None:
    try:
        done = publish_session(session, by=request.user, now=timezone.now())
    except PublishRefused as why:
        messages.error(request, f"{session}: {why}")
    except NotThereAnyMore:
        messages.warning(request, f"{session}: somebody has taken it out meanwhile.")
    except PublishInProgress:
        messages.warning(request, f"{session}: somebody else is publishing it right now.")
    else:
        deleted_items.dismiss_all_of(request.session, session)
        tell = messages.warning if done.held else messages.success
        tell(request, f"{session}. {published_in_words(done)}")
        _say_again(request, done)


@require_http_methods(["GET", "POST"])
@for_coaches
def place_on_landing(request: Request, session_id: int) -> HttpResponse:
    """Place whom a stop means on a landing pathway, and come back to publish."""
    session = session_or_404(request.user, session_id)
    form = LandingForm(not_placed_on_landing(session, request.user), request.POST or None)
    if request.method == "POST" and form.is_valid():
        placed = form.place(request.user)
        if placed:
            messages.success(request, f"{listed(map(str, placed))}: placed on landing.")
        return redirect("program:build", session_id)
    status = 422 if form.errors else 200
    context = {"session": session, "form": form}
    return render(request, "program/publish/place_on_landing.html", context, status=status)


@require_http_methods(["GET", "POST"])
@for_coaches
def decision(request: Request, session_id: int, slot_id: int, child_id: uuid.UUID) -> HttpResponse:
    """One cell: why it is so, and the coach's own choice instead."""
    session, slot, child = _cell_or_404(request, session_id, slot_id, child_id)
    fitted = fit(session, [child])
    choices = choices_of(fitted, session, slot, child)
    override = _override_of(slot, child)
    form = DecisionForm(choices, request.POST or None, initial=_initial(override))
    looked_at(request, child)
    if request.method == "POST" and form.is_valid() and _is_chosen(request, slot, child, form):
        return redirect("program:who_gets_what", session.pk)
    context = {
        "form": form,
        "cell": cell_of(fitted, child, slot),
        "session": session,
        "override": override,
        "risky": [each for each in choices if each.is_allowed and each.risk],
        "not_now": [e for e in choices if e.option.is_on_pathway and not e.is_allowed],
    }
    status = 422 if form.stops else 200
    return render(request, "program/publish/decision.html", context, status=status)


def _is_chosen(request: Request, slot: Slot, child: Child, form: DecisionForm) -> bool:
    chosen, note, now = form.chosen(), form.cleaned_data["note"], timezone.now()
    try:
        overrides.set_override(slot, child, chosen, note, request.user, now, form.because)
    except NotThereAnyMore:
        raise Http404 from None
    except ChoiceNeedsReason as needed:
        form.ask_why(needed.stops)
        return False
    messages.success(request, f"{child}: your choice is kept, also when you publish again.")
    return True


@require_POST
@for_coaches
def decision_back(
    request: Request, session_id: int, slot_id: int, child_id: uuid.UUID
) -> HttpResponse:
    session, slot, child = _cell_or_404(request, session_id, slot_id, child_id)
    try:
        overrides.remove_override(slot, child, timezone.now())
    except NotThereAnyMore:
        raise Http404 from None
    messages.success(request, f"{child}: fit decides again.")
    return redirect("program:who_gets_what", session.pk)


@require_POST
@for_coaches
def ask_family(
    request: Request, session_id: int, slot_id: int, child_id: uuid.UUID
) -> HttpResponse:
    """Ask the child's guardians by mail what is at home."""
    session, _, child = _cell_or_404(request, session_id, slot_id, child_id)
    with transaction.atomic():
        asked = ask_about_kit(request, child)
    if asked:
        messages.success(request, f"{child}: the family is asked what is at home.")
    else:
        messages.warning(request, f"Nobody is mailed: {child} has no guardian here who wants mail.")
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


def _override_of(slot: Slot, child: Child) -> Override | None:
    standing = Override.objects.filter(slot=slot, child=child)
    return standing.select_related("exercise__current", "set_by").first()


def _initial(override: Override | None) -> dict[str, str]:
    if override is None:
        return {}
    choice = override.exercise.slug if override.exercise else LEAVE_OUT
    return {"choice": choice, "note": override.note}
