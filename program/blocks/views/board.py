"""The block board: what it shows, moving, copying and deleting on it, taking back."""

import uuid

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.views.decorators.http import require_GET, require_POST

from athletes.health_views import looked_at
from library.shared.access import Request, for_coaches, page_sent_from
from library.shared.already_deleted import already_deleted_message, answered_if_already_deleted
from program.blocks import board_changes
from program.blocks.board import Board, board_of
from program.blocks.board_changes import CannotChange
from program.blocks.deviations import deviations
from program.blocks.one_child import child_block
from program.common.edit_conflicts import EditConflict
from program.common.idempotency import already_done
from program.common.loaders import (
    block_or_404,
    change_on_or_404,
    enrolments_in_or_404,
    enrolments_of_block,
    locked_block_or_404,
    locked_session_or_404,
    session_or_404,
)
from program.models import Session


def show(request: Request, board: Board, status: int = 200) -> HttpResponse:
    page = "program/blocks/board.html#board" if request.htmx else "program/blocks/board.html"
    context = {"planned": board.block, "board": board}
    return render(request, page, context, status=status)


def answer(request: Request, block_id: int, said: str, *, refused: bool = False) -> HttpResponse:
    """The board anew for htmx, with what was said on it; otherwise its page, which says it."""
    if not request.htmx:
        (messages.warning if refused else messages.success)(request, said)
        return redirect("program:block", block_id)
    shown = block_or_404(request.user, block_id)
    board = board_of(shown, timezone.localdate(), said, refused=refused)
    return show(request, board, 409 if refused else 200)


@require_GET
@for_coaches
def block(request: Request, block_id: int) -> HttpResponse:
    shown = block_or_404(request.user, block_id)
    return show(request, board_of(shown, timezone.localdate()))


@require_GET
@for_coaches
def block_children(request: Request, block_id: int) -> HttpResponse:
    """Whose weeks stray furthest from what is written, with the way to each child's."""
    shown = block_or_404(request.user, block_id)
    enrolments = enrolments_of_block(request.user, shown)
    rows = deviations(request.user, shown, enrolments)
    looked_at(request, *(each.child for each in rows if each.tells_of_health))
    context = {"planned": shown, "rows": rows}
    return render(request, "program/blocks/children.html", context)


@require_GET
@for_coaches
def block_of_child(request: Request, block_id: int, child_id: uuid.UUID) -> HttpResponse:
    """What one child will really get, week by week, beside what is written."""
    shown = block_or_404(request.user, block_id)
    enrolments = enrolments_in_or_404(request.user, shown, child_id)
    child, gets = enrolments[0].child, child_block(request.user, shown, enrolments)
    if gets.deviation.tells_of_health:
        looked_at(request, child)
    context = {"planned": shown, "child": child, "gets": gets}
    return render(request, "program/blocks/one_child.html", context)


@require_POST
@for_coaches
def place(request: Request, block_id: int) -> HttpResponse:
    """Move or copy one session, by a button of its cell or a drop: see `board_changes.move`."""
    order = request.POST.get("do", "")
    try:
        with transaction.atomic():
            within = locked_block_or_404(request.user, block_id)
            if already_done(request, order):
                return answer(request, block_id, "That was done already.")
            said = board_changes.move(within, order, request.user, timezone.now()).sentence
    except ValueError as why:
        raise BadRequest("That is not a place on the board.") from why
    except (CannotChange, EditConflict) as why:
        return answer(request, block_id, str(why), refused=True)
    return answer(request, block_id, said)


@require_POST
@for_coaches
def take_back(request: Request, block_id: int, change_id: int) -> HttpResponse:
    try:
        with transaction.atomic():
            within = locked_block_or_404(request.user, block_id)
            change = change_on_or_404(within, change_id)
            stays = board_changes.undo(change, request.user, timezone.now())
    except CannotChange as why:
        return answer(request, block_id, str(why), refused=True)
    return answer(request, block_id, " ".join(["Taken back.", *stays]))


def _session_was_gone(request: Request, name: str, session_id: int) -> HttpResponse:
    """Back on the board it was sent from; its own page is gone with it."""
    messages.info(request, already_deleted_message(name))
    page = page_sent_from(request)
    its_own = page == reverse("program:build", args=[session_id])
    return redirect("program:blocks" if its_own or not page else page)


@require_POST
@for_coaches
@answered_if_already_deleted(Session.objects.all, _session_was_gone)
def delete_session(request: Request, session_id: int) -> HttpResponse:
    """Delete a draft, which the board brings back."""
    try:
        with transaction.atomic():
            block_id = session_or_404(request.user, session_id).block_id
            within = locked_block_or_404(request.user, block_id)
            session = locked_session_or_404(request.user, session_id)
            change = board_changes.delete_draft(within, session, request.user, timezone.now())
    except CannotChange as why:
        messages.error(request, str(why))
        return redirect("program:build", session_id)
    told = format_html('{} <a href="#board-changes">Take it back</a>', change.sentence)
    messages.success(request, told)
    return redirect("program:block", block_id)
