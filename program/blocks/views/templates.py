"""Templates: keeping something under a name, the list, and beginning from one."""

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from library.shared.access import Request, for_coaches
from library.shared.already_deleted import already_deleted_message, answered_if_already_deleted
from library.shared.dates import weekday_and_date
from library.shared.ids import whole_number
from program.blocks import saved_templates
from program.blocks.board_changes import record_change
from program.blocks.forms.templates import BeginForm, KeepForm, RenameForm
from program.blocks.queries import sessions_of
from program.build import editing
from program.common.idempotency import already_done, new_idempotency_key
from program.common.library_snapshot import library_snapshot
from program.common.loaders import (
    block_or_404,
    locked_block_or_404,
    own_template_or_404,
    part_in_or_404,
    session_with_slots_or_404,
    template_or_404,
)
from program.models import Template, TemplateKind


@require_GET
@for_coaches
def template_list(request: Request) -> HttpResponse:
    """All of them by kind; with `session`, those of parts, to be added to that session."""
    kept = set(Template.objects.kept_by(request.user).values_list("pk", flat=True))
    found = Template.objects.visible_to(request.user).select_related("made_by")
    kinds = [
        (kind.label, [(one, one.pk in kept) for one in found if one.kind == kind])
        for kind in reversed(TemplateKind)
    ]
    context = {"kinds": kinds, "query": request.GET.urlencode(), "any": bool(found)}
    return render(request, "program/blocks/templates.html", context)


@require_http_methods(["GET", "POST"])
@for_coaches
def keep_block(request: Request, block_id: int) -> HttpResponse:
    block = block_or_404(request.user, block_id)

    def keep(name: str) -> Template:
        return saved_templates.keep_block(block, sessions_of(block), name, request.user)

    return _keep(request, block, reverse("program:block", args=[block_id]), keep)


@require_http_methods(["GET", "POST"])
@for_coaches
def keep_session(request: Request, session_id: int) -> HttpResponse:
    session = session_with_slots_or_404(request.user, session_id)

    def keep(name: str) -> Template:
        return saved_templates.keep_session(session, name, request.user)

    return _keep(request, session, reverse("program:build", args=[session_id]), keep)


@require_http_methods(["GET", "POST"])
@for_coaches
def keep_part(request: Request, session_id: int, part_id: int) -> HttpResponse:
    session = session_with_slots_or_404(request.user, session_id)
    part_in_or_404(session, part_id)
    part = next(one for one in session.parts.all() if one.pk == part_id)

    def keep(name: str) -> Template:
        return saved_templates.keep_part(part, name, request.user)

    return _keep(request, part, reverse("program:build", args=[session_id]), keep)


def _keep(request: Request, what: Any, back: str, keep: Any) -> HttpResponse:
    if request.method == "GET":
        return _keep_form(request, KeepForm(initial={"name": what.name}), what, back)
    form = KeepForm(request.POST)
    if not form.is_valid():
        return _keep_form(request, form, what, back, 422)
    with transaction.atomic():
        if not already_done(request):
            kept = keep(form.cleaned_data["name"])
            messages.success(request, f"{kept} is kept among the templates.")
    return redirect(back)


def _keep_form(
    request: Request, form: KeepForm, what: Any, back: str, status: int = 200
) -> HttpResponse:
    context = {"form": form, "what": what, "back": back, "idempotency_key": new_idempotency_key()}
    return render(request, "program/blocks/keep_template.html", context, status=status)


@require_http_methods(["GET", "POST"])
@for_coaches
def begin(request: Request, template_id: int) -> HttpResponse:
    """What a template holds, and beginning from it."""
    template = template_or_404(request.user, template_id)
    kept, library = saved_templates.kept_in(template), library_snapshot().fit
    missing = saved_templates.missing_from(kept, library)
    if request.method == "GET":
        asked = {name: request.GET.get(name) for name in ("session", "block", "cohort")}
        form = BeginForm(template.kind, request.user, missing, initial=_asked(asked, template))
        return _begin_form(request, template, kept, form)
    form = BeginForm(template.kind, request.user, missing, request.POST)
    if not form.is_valid():
        return _begin_form(request, template, kept, form, 422)
    return _begun(request, template, saved_templates.with_others(kept, form.instead, library), form)


def _asked(asked: dict[str, str | None], template: Template) -> dict[str, Any]:
    ids = {name: whole_number(text) for name, text in asked.items()}
    return {name: pk for name, pk in ids.items() if pk is not None} | {"name": template.name}


def _begun(
    request: Request, template: Template, kept: saved_templates.Kept, form: BeginForm
) -> HttpResponse:
    begin = {
        TemplateKind.BLOCK: _begin_block,
        TemplateKind.SESSION: _begin_session,
        TemplateKind.PART: _begin_part,
    }[TemplateKind(template.kind)]
    with transaction.atomic():
        if already_done(request):
            return redirect("program:templates")
        return begin(request, kept, form.cleaned_data)


def _begin_block(
    request: Request, kept: saved_templates.Kept, said: dict[str, Any]
) -> HttpResponse:
    block = saved_templates.begin_block(
        kept, said["cohort"], said["name"], said["starts_on"], request.user
    )
    return redirect("program:block", block.pk)


def _begin_session(
    request: Request, kept: saved_templates.Kept, said: dict[str, Any]
) -> HttpResponse:
    block = locked_block_or_404(request.user, said["block"].pk)
    made = saved_templates.begin_session(kept, block, said["date"], request.user)
    told = f"{made.name} was begun from a template on {weekday_and_date(made.date)}."
    record_change(block, told, request.user, timezone.now(), made=[made])
    return redirect("program:build", made.pk)


def _begin_part(request: Request, kept: saved_templates.Kept, said: dict[str, Any]) -> HttpResponse:
    with editing.editing(request, said["session"].pk) as session:
        saved_templates.add_part(kept, session)
    return redirect("program:build", said["session"].pk)


def _begin_form(
    request: Request,
    template: Template,
    kept: saved_templates.Kept,
    form: BeginForm,
    status: int = 200,
) -> HttpResponse:
    held = saved_templates.held_in(kept, library_snapshot().fit)
    context = {
        "template": template,
        "held": held,
        "form": form,
        "idempotency_key": new_idempotency_key(),
    }
    return render(request, "program/blocks/template.html", context, status=status)


@require_http_methods(["GET", "POST"])
@for_coaches
def template_name(request: Request, template_id: int) -> HttpResponse:
    template = own_template_or_404(request.user, template_id)
    form = RenameForm(request.POST or None, initial={"name": template.name})
    if request.method == "POST" and form.is_valid():
        before, template.name = template.name, form.cleaned_data["name"]
        template.save(update_fields=["name"])
        messages.success(request, f"{before} is called {template.name} now.")
        return redirect("program:templates")
    context = {"template": template, "form": form}
    status = 422 if request.method == "POST" else 200
    return render(request, "program/blocks/template_name.html", context, status=status)


def _was_gone(request: Request, name: str, template_id: int) -> HttpResponse:
    messages.info(request, already_deleted_message(name))
    return redirect("program:templates")


@require_POST
@for_coaches
@answered_if_already_deleted(Template.objects.all, _was_gone)
def template_away(request: Request, template_id: int) -> HttpResponse:
    template = own_template_or_404(request.user, template_id)
    template.delete()
    messages.success(request, f"{template} is not among the templates any more.")
    return redirect("program:templates")
