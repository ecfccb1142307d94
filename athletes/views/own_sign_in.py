"""A guardian says whether a young athlete may sign in."""

import uuid

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from athletes.family_frame import family_page
from athletes.invitation_mail import mail_invitations, tell_of_own_sign_in
from athletes.loaders import own_child_or_404
from athletes.models import Child, Invitation
from library.shared.access import Request, for_signed_in


@require_http_methods(["GET", "POST"])
@for_signed_in
def own_sign_in(request: Request, public_id: uuid.UUID) -> HttpResponse:
    child = own_child_or_404(request.user, public_id)
    asked = Invitation.objects.own_sign_in_of(child, timezone.now())
    if request.method == "POST":
        if asked:
            _answer(request, child, asked)
        return redirect("athletes:own_sign_in", child.public_id)
    return family_page(request, "athletes/own_sign_in.html", child, {"asked": asked})


@transaction.atomic
def _answer(request: Request, child: Child, asked: Invitation) -> None:
    now = timezone.now()
    if request.POST.get("do") == "agree":
        if token := asked.agree(request.user, now):
            mail_invitations(request, [(asked, token)])
            tell_of_own_sign_in(request, asked, request.user, is_agreed=True)
        messages.success(request, f"Thank you. {child.given_name} gets a mail with a link.")
    elif Invitation.objects.filter(pk=asked.pk).withdraw(now):
        tell_of_own_sign_in(request, asked, request.user, is_agreed=False)
        messages.success(request, f"{child.given_name} gets no own sign-in.")
