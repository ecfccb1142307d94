"""Holidays and days away: the list, and clearing one of a block's sessions."""

from collections.abc import Sequence

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from library.shared.access import Request, for_coaches
from library.shared.already_deleted import already_deleted_message, answered_if_already_deleted
from program.blocks.board_changes import CannotChange
from program.blocks.clear_break import Clearing, clear_sessions, preview_clearing
from program.blocks.forms.breaks import CALL_OFF, BreakForm, ClearForm
from program.common.edit_conflicts import EditConflict, refuse_unseen
from program.common.idempotency import already_done, new_idempotency_key
from program.common.loaders import (
    block_or_404,
    break_in_or_404,
    locked_board_or_404,
    own_break_or_404,
)
from program.engine.breaks import InBreak
from program.engine.wording import plural
from program.models import Block, Break, Session
from program.publish.calling_off import call_off_all
from program.publish.mail import tell_it_is_called_off

PAGE = "program/blocks/clear_break.html"


@require_http_methods(["GET", "POST"])
@for_coaches
def break_list(request: Request) -> HttpResponse:
    """All the coach may know of, and the form for another."""
    if request.method == "GET":
        return _list(request, BreakForm(request.user))
    form = BreakForm(request.user, request.POST)
    published = form.published() if form.is_valid() else []
    if published:
        form.ask_of(published)
    if not form.is_valid():
        return _list(request, form, 422)
    with transaction.atomic():
        if not already_done(request):
            form.instance.set_by = request.user
            form.save()
            if form.cleaned_data.get("sessions") == CALL_OFF:
                _call_off(request, published, form.instance)
    return redirect("program:breaks")


def _call_off(request: Request, published: Sequence[Session], away: Break) -> None:
    told = call_off_all(published, str(away), request.user, timezone.now())
    tell_it_is_called_off(request, told)
    called_off = plural(len(published), "session is", "sessions are")
    messages.success(request, f"{called_off} called off, and the families are told.")


def _list(request: Request, form: BreakForm, status: int = 200) -> HttpResponse:
    mine = set(Break.objects.kept_by(request.user).values_list("pk", flat=True))
    seen = Break.objects.visible_to(request.user).select_related("cohort", "set_by")
    context = {
        "breaks": [(one, one.pk in mine) for one in seen],
        "form": form,
        "idempotency_key": new_idempotency_key(),
    }
    return render(request, "program/blocks/breaks.html", context, status=status)


def _was_gone(request: Request, name: str, break_id: int) -> HttpResponse:
    messages.info(request, already_deleted_message(name))
    return redirect("program:breaks")


@require_POST
@for_coaches
@answered_if_already_deleted(Break.objects.all, _was_gone)
def break_away(request: Request, break_id: int) -> HttpResponse:
    own_break_or_404(request.user, break_id).delete()
    return redirect("program:breaks")


@require_http_methods(["GET", "POST"])
@for_coaches
def clear_break(request: Request, block_id: int, break_id: int) -> HttpResponse:
    """What clearing a break would do to a block, and doing it."""
    if request.method == "GET":
        within = block_or_404(request.user, block_id)
        return _clear_page(
            request, within, break_in_or_404(request.user, within, break_id), request.GET
        )
    try:
        with transaction.atomic():
            within = locked_board_or_404(request.user, block_id)
            away = break_in_or_404(request.user, within, break_id)
            return _cleared(request, within, away)
    except (CannotChange, EditConflict) as why:
        within = block_or_404(request.user, block_id)
        away = break_in_or_404(request.user, within, break_id)
        return _clear_page(request, within, away, request.POST, str(why))


def _cleared(request: Request, within: Block, away: Break) -> HttpResponse:
    shown = _shown(within, away, ClearForm(request.POST))
    if shown is None:
        return _clear_page(request, within, away, request.POST)
    if already_done(request):
        return redirect("program:block", within.pk)
    refuse_unseen(
        request.POST.get("mark"),
        shown.mark,
        "Somebody changed the block since you looked. Nothing was done. "
        "This is what it would do now.",
    )
    messages.success(request, clear_sessions(shown, request.user, timezone.now()).sentence)
    return redirect("program:block", within.pk)


def _shown(within: Block, away: Break, form: ClearForm) -> Clearing | None:
    if not form.is_valid():
        return None
    sessions = list(within.sessions.order_by("date", "id"))
    return preview_clearing(within, away, InBreak(form.cleaned_data["way"]), sessions)


def _clear_page(
    request: Request, within: Block, away: Break, said: QueryDict, warning: str = ""
) -> HttpResponse:
    form = ClearForm(said if "way" in said or request.method == "POST" else None)
    shown = _shown(within, away, form)
    template = f"{PAGE}#preview" if request.htmx else PAGE
    context = {
        "planned": within,
        "away": away,
        "form": form,
        "shown": shown,
        "warning": warning,
        "idempotency_key": new_idempotency_key(),
    }
    refused = 422 if shown is None else 409
    return render(request, template, context, status=refused if request.method == "POST" else 200)
