"""What is held of people, for whoever it is about: told, copied, erased."""

import uuid
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from athletes.family_frame import account_frame, family_page
from athletes.health_views import looked_at
from athletes.loaders import child_or_404, own_child_or_404
from athletes.mailing import origin_of
from athletes.models import AccessRules, Child, HealthView, RecordedChange, User
from library.shared.access import (
    Request,
    asks_again,
    for_head_coach,
    for_signed_in,
    for_whoever_may_decide,
)
from program.models import ChildCopy, Erasure
from program.privacy import copies, erasing
from program.privacy.changes_in_words import ChangeInWords, said_of
from program.privacy.child_data import counts_of
from program.privacy.declarations import OF_A_CHILD, OF_AN_ACCOUNT
from program.privacy.schema import schema

A_PAGE = 50


class EndForm(forms.Form):
    """Why a child is kept although erasing was asked for."""

    because = forms.CharField(label="Why", max_length=300, min_length=5)


def _child_or_404(user: User, child_id: uuid.UUID) -> Child:
    """The child, for whoever decides for it or a head coach."""
    return child_or_404(user, child_id) if user.is_head_coach else own_child_or_404(user, child_id)


@require_GET
@for_signed_in
def privacy(request: Request) -> HttpResponse:
    """What Fledge holds, in plain words and in a child's."""
    context = {
        "children": Child.objects.decided_by(request.user),
        "of_a_child": OF_A_CHILD,
        "of_an_account": OF_AN_ACCOUNT,
        "rules": AccessRules.objects.current(),
    } | account_frame(request.user)
    return render(request, "program/privacy/privacy.html", context)


@require_GET
@for_signed_in
def export_schema(request: Request) -> HttpResponse:
    """What the JSON of a copy looks like, for a program that reads it."""
    return JsonResponse(schema(), json_dumps_params={"indent": 2})


@require_GET
@for_whoever_may_decide
@never_cache
def child_data(request: Request, child_id: uuid.UUID) -> HttpResponse:
    """What is held of a child, how much of each, and the way to a copy and to erasing."""
    child = _child_or_404(request.user, child_id)
    looked_at(request, child)
    now = timezone.now()
    mine = ChildCopy.objects.visible_to(request.user).filter(child=child)
    context = {
        "counts": counts_of(child),
        "ready": mine.to_fetch(now).first(),
        "is_being_made": mine.waiting().exists(),
        "erasure": Erasure.objects.filter(child=child, done_at=None, ended_at=None)
        .select_related("asked_by")
        .first(),
        "ended": Erasure.objects.filter(child=child, ended_at__isnull=False)
        .select_related("ended_by")
        .first(),
        "rules": AccessRules.objects.current(),
    }
    return _page(request, "program/privacy/child_data.html", child, context)


@require_GET
@for_whoever_may_decide
@never_cache
def health_views(request: Request, child_id: uuid.UUID) -> HttpResponse:
    """Which coach looked at what of a child's health, the newest first."""
    child = _child_or_404(request.user, child_id)
    views = HealthView.objects.visible_to(request.user).filter(child=child)
    page = Paginator(views.select_related("person"), A_PAGE).get_page(request.GET.get("page"))
    template, same = "program/privacy/health_views.html", "program:health_views"
    return family_page(request, template, child, {"page": page}, same_for_others=same)


@require_GET
@for_head_coach
@never_cache
def recorded_changes(request: Request, child_id: uuid.UUID) -> HttpResponse:
    """Who changed what about a child, the newest first."""
    child = _child_or_404(request.user, child_id)
    looked_at(request, child)
    page, changes = _changes(request, child=child)
    context = {"child": child, "page": page, "changes": changes}
    return render(request, "program/privacy/recorded_changes.html", context)


@require_GET
@for_head_coach
@never_cache
def account_changes(request: Request, pk: int) -> HttpResponse:
    """Who changed what of an account, the newest first."""
    return _account_changes(request, get_object_or_404(User, pk=pk))


@require_GET
@for_signed_in
@never_cache
def own_account_changes(request: Request) -> HttpResponse:
    """The same of one's own."""
    return _account_changes(request, request.user, is_own=True)


def _account_changes(request: Request, person: User, *, is_own: bool = False) -> HttpResponse:
    page, changes = _changes(request, person=person)
    context = {"person": person, "is_own": is_own, "page": page, "changes": changes}
    frame = account_frame(request.user)
    return render(request, "program/privacy/account_changes.html", context | frame)


def _changes(
    request: Request, **about: Child | User
) -> tuple[Page[RecordedChange], list[ChangeInWords]]:
    """A page of what was recorded of a `child` or a `person`."""
    found = RecordedChange.objects.visible_to(request.user).filter(**about)
    page = Paginator(found.select_related("by"), A_PAGE).get_page(request.GET.get("page"))
    return page, [said_of(each) for each in page]


def _page(request: Request, template: str, child: Child, context: dict[str, Any]) -> HttpResponse:
    return family_page(request, template, child, context, same_for_others="program:child_data")


@require_POST
@for_whoever_may_decide
@asks_again
def ask_for_copy(request: Request, child_id: uuid.UUID) -> HttpResponse:
    child = _child_or_404(request.user, child_id)
    copies.ask_for_copy(child, request.user, timezone.now(), origin_of(request))
    messages.success(
        request, "A copy is being made. You get a mail when it is ready, with a link to this page."
    )
    return redirect("program:child_data", child.public_id)


@require_POST
@for_whoever_may_decide
@asks_again
def fetch_copy(request: Request, child_id: uuid.UUID, copy_id: uuid.UUID) -> HttpResponse:
    """The zip, once: what is fetched is not kept."""
    child = _child_or_404(request.user, child_id)
    mine = ChildCopy.objects.visible_to(request.user)
    copy = get_object_or_404(mine, child=child, public_id=copy_id)
    content = copies.fetch(copy, timezone.now())
    if content is None:
        messages.warning(request, "This copy was fetched already, or is over. Ask for a new one.")
        return redirect("program:child_data", child.public_id)
    looked_at(request, child)
    answer = HttpResponse(content, content_type="application/zip")
    answer.headers["Content-Disposition"] = 'attachment; filename="fledge.zip"'
    answer.headers["Cache-Control"] = "private, no-store"
    return answer


@require_http_methods(["GET", "POST"])
@for_whoever_may_decide
@never_cache
@asks_again
def ask_to_erase(request: Request, child_id: uuid.UUID) -> HttpResponse:
    """The first step: what goes, what stays, and that it is wanted."""
    child = _child_or_404(request.user, child_id)
    if request.method == "POST":
        erasing.ask(child, request, timezone.now())
        messages.success(request, "It is asked for. A head coach confirms it.")
        return redirect("program:child_data", child.public_id)
    looked_at(request, child)
    context = {
        "counts": counts_of(child),
        "accounts": erasing.accounts_of(child),
    }
    return _page(request, "program/privacy/erase.html", child, context)


@require_POST
@for_whoever_may_decide
def take_back(request: Request, child_id: uuid.UUID) -> HttpResponse:
    """Whoever asked, or a guardian, takes back what is not confirmed yet."""
    child = _child_or_404(request.user, child_id)
    erasure = Erasure.objects.visible_to(request.user).open().filter(child=child).first()
    if erasure and erasing.end(erasure, request.user, "Taken back.", timezone.now()):
        messages.success(request, "Taken back: nothing is erased.")
    else:
        messages.warning(request, "There was nothing to take back: it is confirmed already.")
    return redirect("program:child_data", child.public_id)


@require_GET
@for_head_coach
@never_cache
def erasures(request: Request) -> HttpResponse:
    """What is asked for, and what was erased."""
    named = Erasure.objects.select_related("child", "asked_by", "confirmed_by", "ended_by")
    context = {"open": named.open(), "others": named.exclude(pk__in=named.open().values("pk"))[:50]}
    return render(request, "program/privacy/erasures.html", context)


@require_http_methods(["GET", "POST"])
@for_head_coach
@never_cache
@asks_again
def erasure(request: Request, erasure_id: uuid.UUID) -> HttpResponse:
    """The second step: confirm it, or keep the child and say why."""
    found = get_object_or_404(
        Erasure.objects.select_related("child", "asked_by"), public_id=erasure_id
    )
    if found.child is None:
        raise Http404
    form = EndForm(request.POST if "keep" in request.POST else None)
    now = timezone.now()
    if request.method == "POST" and (said := _decided(request, found, form)):
        messages.success(request, said)
        return redirect("program:erasures")
    looked_at(request, found.child)
    context = {
        "erasure": found,
        "child": found.child,
        "form": form,
        "may_confirm": found.may_be_confirmed_by(request.user, now),
        "is_open": Erasure.objects.open().contains(found),
        "counts": counts_of(found.child),
        "accounts": erasing.accounts_of(found.child),
    }
    status = 422 if form.errors else 200
    return render(request, "program/privacy/erasure.html", context, status=status)


def _decided(request: Request, found: Erasure, form: EndForm) -> str:
    """What came of it, "" where it is to be asked again."""
    now = timezone.now()
    if "keep" in request.POST:
        if not form.is_valid():
            return ""
        kept = erasing.end(found, request.user, form.cleaned_data["because"], now)
        return "Kept. The family reads why." if kept else "It is decided already."
    if erasing.confirm(found, request.user, now):
        return "Confirmed. It is being erased now; this cannot be taken back."
    return "It is decided already, or it wants another head coach, or a day."
