"""The builder: one session, its facts, and what becomes of it as a whole."""

from django.contrib import messages
from django.db import transaction
from django.db.models import ProtectedError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from library.shared.access import Request, for_coaches, page_sent_from
from library.shared.already_deleted import already_deleted_message, answered_if_already_deleted
from library.shared.dates import weekday_and_date
from program.build import editing
from program.build.forms import SessionForm
from program.build.responses import answer, builder_of, show
from program.common import deleted_items
from program.common.deleted_items import CannotRestore, DeletedItem
from program.common.idempotency import already_done
from program.common.loaders import locked_block_or_404, locked_session_or_404, session_or_404
from program.models import Session

FACTS_PAGE = "program/build/session_form.html"


@require_GET
@for_coaches
def build(request: Request, session_id: int) -> HttpResponse:
    return show(request, builder_of(request, session_id))


@require_http_methods(["GET", "POST"])
@for_coaches
def facts(request: Request, session_id: int) -> HttpResponse:
    """Name, day, place, minutes and note: a page, or in the builder's head."""
    if request.method == "POST":
        return _save_facts(request, session_id)
    session = session_or_404(request.user, session_id)
    return _facts_form(request, SessionForm(session.block, instance=session))


def _save_facts(request: Request, session_id: int) -> HttpResponse:
    with transaction.atomic():
        session = locked_session_or_404(request.user, session_id)
        typed = session_or_404(request.user, session_id)
        form = SessionForm(typed.block, request.POST, instance=typed)
        editing.save_facts(session, form, request.user)
    if form.errors:
        return _facts_form(request, form, 422)
    if form.conflicts:
        return _facts_form(request, form, 409)
    if request.htmx:
        return show(request, builder_of(request, session_id), "answers.html#facts")
    return redirect("program:build", session_id)


def _facts_form(request: Request, form: SessionForm, status: int = 200) -> HttpResponse:
    page = f"{FACTS_PAGE}#form" if request.htmx else FACTS_PAGE
    # After a conflict the person has seen what is stored, and saving again writes over it.
    stored = session_or_404(request.user, form.instance.pk)
    seen = SessionForm(stored.block, instance=stored).seen if form.conflicts else form.seen
    url = reverse("program:session_facts", args=[stored.pk])
    context = {"form": form, "seen": seen, "session": stored, "planned": stored.block, "url": url}
    return render(request, page, context, status=status)


@require_POST
@for_coaches
def duplicate(request: Request, session_id: int) -> HttpResponse:
    with transaction.atomic():
        block = locked_block_or_404(request.user, session_or_404(request.user, session_id).block_id)
        session = locked_session_or_404(request.user, session_id)
        if already_done(request):
            return redirect("program:block", block.pk)
        copy = editing.duplicate_session(session, request.user)
    messages.success(request, f"This is the copy, on {weekday_and_date(copy.date)}.")
    return redirect("program:build", copy.pk)


def _session_was_gone(request: Request, name: str, session_id: int) -> HttpResponse:
    """Back on the board it was sent from; its own page is gone with it."""
    messages.info(request, already_deleted_message(name))
    page = page_sent_from(request)
    its_own = page == reverse("program:build", args=[session_id])
    return redirect("program:blocks" if its_own or not page else page)


@require_POST
@for_coaches
@answered_if_already_deleted(Session.objects.all, _session_was_gone)
def take_out(request: Request, session_id: int) -> HttpResponse:
    with transaction.atomic():
        session = locked_session_or_404(request.user, session_id)
        try:
            deleted_items.delete_session(request.session, session)
        except ProtectedError:
            messages.error(request, f"{session} was published, so it stays.")
            return redirect("program:build", session_id)
    return redirect("program:block", session.block_id)


@require_POST
@for_coaches
def put_back(request: Request, session_id: int, key: str) -> HttpResponse:
    """Undo a taking out; or, with `dismiss`, stop offering to."""
    entry = _deleted_item(request, session_id, key)
    warning = ""
    with editing.editing(request, session_id):
        if "dismiss" in request.POST:
            deleted_items.dismiss(request.session, entry)
            raise editing.Unchanged
        try:
            deleted_items.restore(request.session, entry)
        except CannotRestore as why:
            warning = str(why)
            raise editing.Unchanged from why
    if warning:
        return answer(request, session_id, 422, warnings={key: warning})
    return answer(request, session_id, focus=entry.row_key)


def _deleted_item(request: Request, session_id: int, key: str) -> DeletedItem:
    session = session_or_404(request.user, session_id)
    for entry in deleted_items.of_session(request.session, session):
        if entry.key == key:
            return entry
    raise Http404
