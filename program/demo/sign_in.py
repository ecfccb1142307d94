"""One-click sign-in for the demo's invented people. Its address exists only with DEMO=1."""

from dataclasses import dataclass

from django.contrib.auth import login
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from athletes.models import User


@dataclass(frozen=True)
class Door:
    """Somebody of the demo whom a visitor may be."""

    email: str
    who: str


DEMO_ACCOUNTS = (
    Door("head@fledge.example", "Head coach, sees every cohort"),
    Door("coach@fledge.example", "Coach of two cohorts"),
    Door("parent@fledge.example", "Parent of two children"),
    Door("athlete@fledge.example", "Young athlete"),
    Door("adaeze@fledge.example", "Parent who coaches another cohort"),
)


@require_POST
def walk_in(request: HttpRequest) -> HttpResponse:
    """Sign in as one of the demo's people, named by the posted `email`."""
    allowed = {door.email for door in DEMO_ACCOUNTS}
    person = User.objects.filter(email=request.POST.get("email", "")).first()
    if person is None or person.email not in allowed:
        raise Http404
    login(request, person, backend="allauth.account.auth_backends.AuthenticationBackend")
    return redirect("program:home")
