"""Copying a session or a week to other weeks: the form, what it would do, and doing it."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from library.shared.access import Request, for_coaches
from library.shared.ids import whole_number
from program.blocks.board_changes import CannotChange
from program.blocks.copy_forward import CopyPreview, copy_sessions, preview
from program.blocks.forms.copy_forward import CopyForm
from program.blocks.queries import sessions_of
from program.common.edit_conflicts import EditConflict, refuse_unseen
from program.common.idempotency import already_done, new_idempotency_key
from program.common.library_snapshot import library_snapshot
from program.common.loaders import block_or_404, locked_board_or_404
from program.models import Block, Session


@dataclass
class CopyPage:
    """The form, and once it can be read, what it would do. `warning` says what went against it."""

    block: Block
    form: CopyForm
    session: Session | None
    preview: CopyPreview | None = None
    warning: str = ""

    def __post_init__(self) -> None:
        self.idempotency_key = new_idempotency_key()

    @property
    def what(self) -> str:
        return str(self.session) if self.session else f"week {self.form.week}"


PAGE = "program/blocks/copy_forward.html"


@require_http_methods(["GET", "POST"])
@for_coaches
def carry(request: Request, block_id: int) -> HttpResponse:
    if request.method == "GET":
        within = block_or_404(request.user, block_id)
        return _show(request, _page(within, request.GET))
    try:
        with transaction.atomic():
            return _done(request, locked_board_or_404(request.user, block_id))
    except (CannotChange, EditConflict) as why:
        page = _page(block_or_404(request.user, block_id), request.POST)
        page.warning = str(why)
        return _show(request, page, 409)


def _done(request: Request, within: Block) -> HttpResponse:
    page = _page(within, request.POST)
    if page.preview is None:
        return _show(request, page, 422)
    if already_done(request):
        return redirect("program:block", within.pk)
    refuse_unseen(
        request.POST.get("mark"),
        page.preview.mark,
        "Somebody changed the block since you looked. Nothing was copied. "
        "This is what it would do now.",
    )
    change = copy_sessions(page.preview, request.user, timezone.now())
    messages.success(request, change.sentence)
    return redirect("program:block", within.pk)


def _page(within: Block, said: QueryDict) -> CopyPage:
    """404 for a session or a week that the block does not hold, or that is empty. Where neither
    is named, it is the first week that holds something."""
    sessions = sessions_of(within)
    session = _named(sessions, said.get("session", ""))
    written = [within.week_of(each.date) for each in sessions]
    week = within.week_of(session.date) if session else _week(said.get("week"), written)
    if week not in written:
        raise Http404
    asked = "to" in said or "change" in said
    page = CopyPage(within, CopyForm(within, week, said if asked else None), session)
    if page.form.is_valid():
        copy = page.form.copy_request(session.pk if session else None)
        page.preview = preview(within, sessions, copy, library_snapshot())
    return page


def _named(sessions: list[Session], text: str) -> Session | None:
    if not text:
        return None
    found = next((each for each in sessions if str(each.pk) == text), None)
    if found is None:
        raise Http404
    return found


def _week(text: str | None, written: list[int]) -> int:
    if text is None:
        return min(written, default=0)
    return whole_number(text) or 0


def _show(request: Request, page: CopyPage, status: int = 200) -> HttpResponse:
    template = f"{PAGE}#preview" if request.htmx else PAGE
    context: dict[str, Any] = {"page": page, "planned": page.block}
    return render(request, template, context, status=status)
