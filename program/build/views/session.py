"""The builder: one session, its facts, and what becomes of it as a whole."""

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from library.shared.access import Request, for_coaches
from library.shared.dates import weekday_and_date
from program.build import editing, undoing
from program.build.forms import SessionForm
from program.build.responses import builder_of, show
from program.common.idempotency import already_done
from program.common.loaders import locked_block_or_404, locked_session_or_404, session_or_404

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
    with editing.editing(request, session_id) as session:
        typed = session_or_404(request.user, session_id)
        form = SessionForm(typed.block, request.POST, instance=typed)
        editing.save_facts(session, form)
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


@require_POST
@for_coaches
def undo(request: Request, session_id: int) -> HttpResponse:
    """One of this coach's last edits undone: the one that the page offered to undo."""
    said = back = ""
    with editing.editing(request, session_id, remembers=False) as session:
        try:
            back = undoing.undo(request.session, session, request.POST.get("edit", ""))
        except undoing.CannotUndo as why:
            said = str(why)
            raise editing.Unchanged from why
    if request.htmx:
        builder = builder_of(request, session_id, said=said, focus=back)
        return show(request, builder, "answers.html#undone")
    if said:
        messages.info(request, said)
    return redirect("program:build", session_id)
