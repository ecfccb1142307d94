"""A guardian says whether a young athlete may sign in, ends it and begins it anew."""

import uuid

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from athletes import own_sign_in as sign_in
from athletes.family_frame import family_page
from athletes.forms.membership import OwnSignInForm
from athletes.invitation_mail import mail_invitations, tell_of_own_sign_in
from athletes.loaders import own_child_or_404
from athletes.models import AccessRules, Child, Invitation
from library.shared.access import Request, asks_again, requires


@require_http_methods(["GET", "POST"])
@requires(lambda person: not person.is_athlete)
@asks_again
def own_sign_in(request: Request, public_id: uuid.UUID) -> HttpResponse:
    child = own_child_or_404(request.user, public_id)
    asked = Invitation.objects.own_sign_in_of(child, timezone.now())
    do = request.POST.get("do")
    form = OwnSignInForm(request.POST if do == "start" else None, child=child, by=request.user)
    if request.method == "POST" and (do != "start" or _begun(request, child, form)):
        _done(request, child, asked)
        return redirect("athletes:own_sign_in", child.public_id)
    youngest = AccessRules.objects.current().own_sign_in_from
    context = {
        "asked": asked,
        "form": form,
        "may_be_ended": sign_in.may_be_ended(child),
        "youngest": youngest if child.age_on(timezone.localdate()) < youngest else None,
    }
    return family_page(request, "athletes/own_sign_in.html", child, context)


def _done(request: Request, child: Child, asked: Invitation | None) -> None:
    match request.POST.get("do"):
        case "end":
            if sign_in.end(child, request.user):
                messages.success(request, f"{child.given_name}’s own sign-in is ended.")
        case "agree" | "decline" if asked:
            _answer(request, child, asked)


@transaction.atomic
def _begun(request: Request, child: Child, form: OwnSignInForm) -> bool:
    """False, with the error at the field, where it cannot be."""
    invited = form.invite() if form.is_valid() else None
    if invited is None:
        return False
    sign_in.begin(request, invited[0], child)
    messages.success(request, f"{child.given_name} gets a mail with a link.")
    return True


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
