"""Blocks of weeks: the list, their facts, and new sessions in them."""

from uuid import UUID

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.db.models import Count
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from library.shared.access import Request, for_coaches
from library.shared.acting import acting_for_the_program
from library.shared.already_deleted import already_deleted_message, answered_if_already_deleted
from program.blocks.block_end import end_of
from program.blocks.block_list import begins_like, blocks_by_cohort, first_free_day
from program.blocks.forms.block import BlockForm
from program.build.forms import SessionForm
from program.common.edit_conflicts import write
from program.common.form_keys import at_a_new_key, form_key
from program.common.idempotency import already_done, new_idempotency_key
from program.common.loaders import (
    block_or_404,
    locked_block_or_404,
    locked_board_or_404,
    session_or_404,
)
from program.models import Block, Session


@require_GET
@for_coaches
def block_list(request: Request) -> HttpResponse:
    today = timezone.localdate()
    context = {"cohorts": blocks_by_cohort(request.user, today), "today": today}
    return render(request, "program/blocks/list.html", context)


@require_GET
@for_coaches
def block_end(request: Request, block_id: int) -> HttpResponse:
    """What is to be seen to when the block ends."""
    block = block_or_404(request.user, block_id)
    context = {"planned": block, "end": end_of(request.user, block)}
    return render(request, "program/blocks/block_end.html", context)


@require_http_methods(["GET", "POST"])
@for_coaches
def block_new(request: Request) -> HttpResponse:
    key = form_key(request)
    if made := _made_with(request, key):
        return _made_already(request, made)
    if request.method == "GET":
        if not key:
            return at_a_new_key(request)
        initial = begins_like(request.user, request.GET.get("cohort", ""))
        return _block_form(request, BlockForm(request.user, initial=initial))
    form = BlockForm(request.user, request.POST)
    if not form.is_valid():
        return _block_form(request, form, 422)
    form.instance.form_key = key
    try:
        with transaction.atomic():
            made = form.save()
    except IntegrityError:
        if not (made := _made_with(request, key)):
            raise
        # Sent twice at once: it is the same wish.
    return redirect("program:block", made.pk)


def _made_with(request: Request, key: UUID | None) -> Block | None:
    """The block that the form of this key has made; 404 where it is another coach's."""
    made = Block.objects.filter(form_key=key).first() if key else None
    return block_or_404(request.user, made.pk) if made else None


def _made_already(request: Request, made: Block) -> HttpResponse:
    """The block that a form made before, to be changed; with what was typed, where it was sent."""
    messages.info(request, f"“{made}” was made here already. What you change now changes it.")
    if request.method == "GET":
        return redirect("program:block_edit", made.pk)
    stored = block_or_404(request.user, made.pk)
    form = BlockForm(request.user, request.POST, instance=made)
    return _block_form(request, form, 409, stored)


@require_http_methods(["GET", "POST"])
@for_coaches
def block_edit(request: Request, block_id: int) -> HttpResponse:
    if request.method == "GET":
        shown = block_or_404(request.user, block_id)
        return _block_form(request, BlockForm(request.user, instance=shown))
    with transaction.atomic():
        stored = locked_block_or_404(request.user, block_id)
        typed = block_or_404(request.user, block_id)
        form = BlockForm(request.user, request.POST, instance=typed)
        if form.is_valid() and (changes := form.changes_to(stored)):
            write(stored, changes)
    if form.errors or form.conflicts:
        return _block_form(request, form, 422 if form.errors else 409, stored)
    return redirect("program:block", block_id)


def _block_form(
    request: Request, form: BlockForm, status: int = 200, stored: Block | None = None
) -> HttpResponse:
    # After a conflict the person has seen what is stored, and saving again writes over it.
    has_seen = stored and status == 409
    seen = BlockForm(request.user, instance=stored).seen if has_seen else form.seen
    context = {"form": form, "seen": seen, "planned": stored or form.instance}
    return render(request, "program/blocks/block_form.html", context, status=status)


@require_http_methods(["GET", "POST"])
@for_coaches
def session_new(request: Request, block_id: int) -> HttpResponse:
    within = block_or_404(request.user, block_id)
    key = form_key(request)
    if made := _session_made_with(request, key):
        return _session_made_already(request, made)
    if request.method == "GET":
        if not key:
            return at_a_new_key(request)
        day = first_free_day(within, request.GET.get("on", ""), timezone.localdate())
        return _session_form(request, SessionForm(within, initial={"date": day, "place": "home"}))
    with transaction.atomic():
        within = locked_block_or_404(request.user, block_id)
        if made := _session_made_with(request, key):  # sent twice at once: it is the same wish
            return redirect("program:build", made.pk)
        form = SessionForm(within, request.POST)
        if not form.is_valid():
            return _session_form(request, form, 422)
        if already_done(request):
            return redirect("program:block", block_id)
        session = form.save(commit=False)
        session.block, session.edited_by, session.form_key = within, request.user, key
        session.save()
    return redirect("program:build", session.pk)


def _session_made_with(request: Request, key: UUID | None) -> Session | None:
    """The session that the form of this key has made; 404 where it is another coach's."""
    made = Session.objects.filter(form_key=key).first() if key else None
    return session_or_404(request.user, made.pk) if made else None


def _session_made_already(request: Request, made: Session) -> HttpResponse:
    """To be changed; with what was typed, where it was sent."""
    messages.info(request, f"“{made}” was made here already. What you change now changes it.")
    url = reverse("program:session_facts", args=[made.pk])
    if request.method == "GET":
        return redirect(url)
    stored = SessionForm(made.block, instance=made)
    form = SessionForm(made.block, request.POST, instance=made)
    context = {
        "form": form,
        "seen": stored.seen,
        "session": made,
        "planned": made.block,
        "url": url,
    }
    return render(request, "program/build/session_form.html", context, status=409)


def _session_form(request: Request, form: SessionForm, status: int = 200) -> HttpResponse:
    context = {
        "form": form,
        "planned": form.block,
        "url": request.get_full_path(),
        "idempotency_key": new_idempotency_key(),
    }
    return render(request, "program/build/session_form.html", context, status=status)


def _block_was_gone(request: Request, name: str, block_id: int) -> HttpResponse:
    messages.info(request, already_deleted_message(name))
    return redirect("program:blocks")


@require_http_methods(["GET", "POST"])
@for_coaches
@answered_if_already_deleted(Block.objects.all, _block_was_gone)
def block_away(request: Request, block_id: int) -> HttpResponse:
    """Delete a block of which nothing is published, with the drafts that were seen in it."""
    with transaction.atomic():
        shown = locked_board_or_404(request.user, block_id)
        facts = shown.sessions.aggregate(written=Count("pk"), published=Count("published_at"))
        if request.method == "POST" and not facts["published"]:
            if request.POST.get("written") == str(facts["written"]):
                with acting_for_the_program():
                    shown.sessions.all().delete()
                    shown.delete()
                messages.success(request, f"{shown} is deleted.")
                return redirect("program:blocks")
            messages.warning(request, "There is more or less in it now. Look again, then delete.")
    status = 409 if request.method == "POST" else 200
    page = "program/blocks/delete.html"
    return render(request, page, {"planned": shown, **facts}, status=status)
