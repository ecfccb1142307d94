"""A way past the coaches, to the welfare officers the program names."""

import uuid
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_GET, require_http_methods

from athletes.family_frame import account_frame
from athletes.head_coaches import what_is_awaited
from athletes.mailing import origin_of
from library.shared.access import Request, asks_again, for_head_coach, for_signed_in
from library.shared.ids import whole_number
from program.common.idempotency import KEY_FIELD, already_done, new_idempotency_key
from program.models import Concern, ConcernEntry, ConcernLook, WelfareOfficer, WelfareWords
from program.models.welfare import ENOUGH_OFFICERS
from program.welfare import naming, reporting
from program.welfare.forms import ConcernForm, EntryForm, InviteForm, NameForm, WordsForm

kept_nowhere = cache_control(private=True, no_store=True)


@require_http_methods(["GET", "POST"])
@for_signed_in
@kept_nowhere
def welfare(request: Request) -> HttpResponse:
    """Whom to ask, and a form that reaches them where there are enough."""
    officers = list(WelfareOfficer.objects.in_force().select_related("person"))
    takes_in = len(officers) >= ENOUGH_OFFICERS
    form = ConcernForm(request.user, officers, request.POST or None)
    if request.method == "POST" and takes_in and form.is_valid():
        _report_once(request, form)
        messages.success(request, "Sent. It is with them now.")
        return redirect("program:welfare")
    context = {
        "officers": officers,
        "is_officer": any(each.person_id == request.user.pk for each in officers),
        "form": form if takes_in else None,
        "mine": Concern.objects.visible_to(request.user).filter(by=request.user),
        "words": WelfareWords.objects.current(),
        "idempotency_key": request.POST.get(KEY_FIELD) or new_idempotency_key(),
    } | account_frame(request.user)
    status = 422 if request.method == "POST" else 200
    return render(request, "program/welfare/welfare.html", context, status=status)


@transaction.atomic
def _report_once(request: Request, form: ConcernForm) -> None:
    if not already_done(request):
        reporting.report(request, form.concern(timezone.now()))


@require_GET
@for_signed_in
@kept_nowhere
def concerns(request: Request) -> HttpResponse:
    """All that an officer reads; for whoever is none, no page."""
    if not WelfareOfficer.objects.in_force().filter(person=request.user).exists():
        raise Http404
    context = {"concerns": Concern.objects.read_by_officer(request.user)[:200]}
    return render(request, "program/welfare/concerns.html", context | account_frame(request.user))


@require_http_methods(["GET", "POST"])
@for_signed_in
@kept_nowhere
def concern(request: Request, concern_id: uuid.UUID) -> HttpResponse:
    """One, for an officer or for whoever reported it."""
    found = get_object_or_404(Concern.objects.visible_to(request.user), public_id=concern_id)
    reads = Concern.objects.read_by_officer(request.user).filter(pk=found.pk).exists()
    form = EntryForm(request.POST if "text" in request.POST else None, is_note=reads)
    if request.method == "POST" and _done(request, found, form, reads=reads):
        return redirect("program:concern", concern_id)
    now = timezone.now()
    if reads and request.method == "GET":
        reporting.note_look(found, request.user, now)
    context: dict[str, Any] = {
        "concern": found,
        "reads": reads,
        "form": form,
        "entries": ConcernEntry.objects.visible_to(request.user)
        .filter(concern=found)
        .select_related("by"),
        "looks": ConcernLook.objects.visible_to(request.user)
        .filter(concern=found)
        .select_related("by")[:50],
    } | account_frame(request.user)
    status = 422 if request.method == "POST" else 200
    return render(request, "program/welfare/concern.html", context, status=status)


def _done(request: Request, found: Concern, form: EntryForm, *, reads: bool) -> bool:
    """Whether what was sent is done; False where the words are to be written again."""
    do, now = request.POST.get("do"), timezone.now()
    match do:
        case "see" if reads:
            reporting.see(found, request.user, now)
        case "close" if reads:
            reporting.close(found, request.user, now)
        case "write" if form.is_valid():
            write = reporting.note if reads else reporting.add
            write(request, found, form.cleaned_data["text"], now)
        case "write":
            return False
        case _:
            raise Http404
    return True


@require_http_methods(["GET", "POST"])
@for_head_coach
@asks_again
def welfare_officers(request: Request) -> HttpResponse:
    """Who they are, and whom else families may ring. Nothing of what is reported."""
    words = WelfareWords.objects.current()
    do = request.POST.get("do")
    name = NameForm(request.POST if do == "name" else None)
    invite = InviteForm(request.POST if do == "invite" else None)
    ring = WordsForm(request.POST if do == "words" else None, instance=words)
    if request.method == "POST" and (said := _named(request, name, invite, ring)):
        messages.success(request, said)
        return redirect("program:welfare_officers")
    standing = WelfareOfficer.objects.standing()
    named = standing.select_related("person", "named_by", "ending_asked_by")
    now = timezone.now()
    context = {
        "officers": [(each, each.waits_for(request.user, now)) for each in named],
        "name": name,
        "invite": invite,
        "ring": ring,
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "program/welfare/officers.html", context, status=status)


def _named(request: Request, name: NameForm, invite: InviteForm, ring: WordsForm) -> str:
    """What came of it, "" where it is to be asked again."""
    now = timezone.now()
    match request.POST.get("do"):
        case "name":
            return _name(request, name) if name.is_valid() else ""
        case "invite":
            done = invite.is_valid() and invite.invite(request)
            awaited = what_is_awaited(request.user)
            return f"The invitation leaves once {awaited}." if done else ""
        case "words":
            if not ring.is_valid():
                return ""
            WelfareWords.objects.change(request.user, now, **ring.cleaned_data)
            return "Kept. Everybody reads it now."
        case "confirm":
            officer = _officer_or_404(request.POST)
            done = naming.confirm(officer, request.user, now, origin_of(request))
            return "Agreed." if done else "It wants another head coach, or is decided already."
        case "end":
            return naming.end(_officer_or_404(request.POST), request, now)
        case "keep":
            naming.keep(_officer_or_404(request.POST), request)
            return "They stay."
        case _:
            return ""


def _name(request: Request, name: NameForm) -> str:
    officer = naming.name_officer(name.cleaned_data["person"], request, timezone.now())
    if officer is None:
        return "They are named already."
    return f"{officer.person} reads along once {what_is_awaited(request.user)}."


def _officer_or_404(sent: QueryDict) -> WelfareOfficer:
    standing = WelfareOfficer.objects.standing().select_related("person")
    return get_object_or_404(standing, pk=whole_number(sent.get("officer")) or 0)
