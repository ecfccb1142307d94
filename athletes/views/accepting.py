"""Coming in by an invitation: the mailed link, and the page it leads to, whose address holds no
token."""

from typing import Final

from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_GET, require_http_methods

from athletes.forms.people import AcceptForm
from athletes.known_browsers import remember
from athletes.models import Invitation, Role, SignIn, User
from athletes.models.invitations import InvitationRefused
from library.shared.acting import acting_for_the_program

BACKEND: Final = "allauth.account.auth_backends.AuthenticationBackend"
OPENED: Final = "invitation"
"""Where the session keeps the key of the invitation whose link was opened in this browser."""


@require_GET
@cache_control(private=True, no_store=True)
@acting_for_the_program()
def open_link(request: HttpRequest, token: str) -> HttpResponse:
    """The mailed link, whose token is exchanged at once. Nothing is used up: programs that look
    through mails open it, too."""
    invited = get_object_or_404(Invitation.objects.with_token(token))
    request.session[OPENED] = invited.pk
    answer = redirect("athletes:invitation")
    answer.headers["Referrer-Policy"] = "no-referrer"
    return answer


@require_http_methods(["GET", "POST"])
@cache_control(private=True, no_store=True)
@acting_for_the_program()
def invitation(request: HttpRequest) -> HttpResponse:
    """The invitation opened in this browser. Only sending the form accepts it."""
    invited = Invitation.objects.filter(pk=request.session.get(OPENED, 0)).first()
    if invited is None:
        if request.method == "POST":
            return redirect("athletes:invitation")
        return render(request, "athletes/no_invitation.html")
    form = AcceptForm(request.POST or None)
    if request.method == "POST":
        return _accept(request, invited, form)
    return _page(request, invited, form)


def _accept(request: HttpRequest, invited: Invitation, form: AcceptForm) -> HttpResponse:
    visitor = _visitor(request)
    was = visitor and visitor.role
    if visitor is None and not form.is_valid():
        return _page(request, invited, form)
    try:
        name = form.cleaned_data["name"] if visitor is None else ""
        user = invited.accept(timezone.now(), visitor=visitor, name=name)
    except InvitationRefused:
        return _page(request, invited, form, status=409)
    del request.session[OPENED]
    answer = redirect("program:family" if invited.role == Role.GUARDIAN else "program:home")
    if visitor is None:
        login(request, user, backend=BACKEND)
        remember(request, answer, user)
    elif user.role != was:  # elsewhere they are signed in as who they were
        SignIn.objects.filter(user=user).without_key(request.session.session_key or "").delete()
    return answer


def _page(
    request: HttpRequest, invited: Invitation, form: AcceptForm, status: int = 200
) -> HttpResponse:
    """What is next, or why nothing is."""
    context: dict[str, object] = {"invitation": invited, "form": form}
    try:
        context["step"] = invited.step_for(_visitor(request), timezone.now())
    except InvitationRefused as refused:
        context["refusal"] = str(refused)
    return render(request, "athletes/invitation.html", context, status=status)


def _visitor(request: HttpRequest) -> User | None:
    return request.user if isinstance(request.user, User) else None
