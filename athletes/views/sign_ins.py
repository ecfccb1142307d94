"""Where a person is signed in, and signing out there."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from athletes.family_frame import account_frame
from athletes.models import AccessRules, SignIn, SignInQuerySet
from library.shared.access import Request, for_signed_in


def _own(request: Request) -> SignInQuerySet:
    return SignIn.objects.visible_to(request.user).open_at(timezone.now())


@require_GET
@for_signed_in
def sign_ins(request: Request) -> HttpResponse:
    context = {
        "here": _own(request).with_key(request.session.session_key or "").first(),
        "elsewhere": _own(request).without_key(request.session.session_key or ""),
        "rules": AccessRules.objects.current() if request.user.is_coach else None,
    } | account_frame(request.user)
    return render(request, "athletes/sign_ins.html", context)


@require_POST
@for_signed_in
def sign_out_there(request: Request, pk: int) -> HttpResponse:
    elsewhere = _own(request).without_key(request.session.session_key or "")
    there = get_object_or_404(elsewhere, pk=pk)
    there.delete()
    messages.success(request, f"Signed out: {there.where}.")
    return redirect("athletes:sign_ins")


@require_POST
@for_signed_in
def sign_out_elsewhere(request: Request) -> HttpResponse:
    _own(request).without_key(request.session.session_key or "").delete()
    messages.success(request, "You are signed in here, and nowhere else.")
    return redirect("athletes:sign_ins")
