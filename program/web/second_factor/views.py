"""Setting up a second factor, showing it, and its recovery codes."""

from typing import Any

from allauth.account.internal.flows.login import record_authentication
from allauth.mfa.base.views import AuthenticateView, IndexView, ReauthenticateView
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.views import GenerateRecoveryCodesView, ViewRecoveryCodesView
from allauth.mfa.totp.views import ActivateTOTPView
from allauth.mfa.webauthn.views import (
    AddWebAuthnView,
    LoginWebAuthnView,
    ReauthenticateWebAuthnView,
)
from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from athletes import second_factor
from athletes.family_frame import account_frame
from library.shared.access import (
    TO_LOOK_AND_SEND,
    Request,
    asks_again,
    requires,
    second_factor_wanted_by,
)

for_signed_in_without = requires(lambda person: True, without_second_factor=TO_LOOK_AND_SEND)
"""Whoever is signed in, whether or not they have the second factor that they are to have."""


for_coaches_without = requires(
    lambda person: person.is_coach, without_second_factor=TO_LOOK_AND_SEND
)


class _InOurFrame:
    """Knows which frame a page has."""

    request: Request

    def get_context_data(self, **more: Any) -> dict[str, Any]:
        context: dict[str, Any] = super().get_context_data(**more)  # type: ignore[misc]
        return context | account_frame(self.request.user)


class OwnFactors(_InOurFrame, IndexView):
    """What somebody has, and until when a coach is to have one."""

    def get_context_data(self, **more: Any) -> dict[str, Any]:
        context = super().get_context_data(**more)
        person = self.request.user
        codes = context["authenticators"].get(Authenticator.Type.RECOVERY_CODES)
        return context | {
            "factors": second_factor.factors_of(person),
            "codes_left": len(codes.get_unused_codes()) if codes else 0,
            "due_at": second_factor_wanted_by(self.request),
            "is_due": person.second_factor_is_due(timezone.now()),
        }


class _Adds(_InOurFrame):
    """Somebody adds a factor, and has just shown it by doing so."""

    told: str

    def form_valid(self, form: Any) -> HttpResponse:
        with transaction.atomic():
            answer: HttpResponse = super().form_valid(form)  # type: ignore[misc]
            second_factor.tell(self.request.user, self.told)
        record_authentication(self.request, self.request.user, "mfa", reauthenticated=True)
        return answer


class AddApp(_Adds, ActivateTOTPView):
    told = second_factor.APP_ADDED

    def dispatch(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """One app is enough: allauth keeps no second."""
        if second_factor.factors_of(request.user).filter(type=Authenticator.Type.TOTP).exists():
            return redirect("mfa_index")
        answer: HttpResponseBase = super().dispatch(request, *args, **kwargs)
        return answer


class AddPasskey(_Adds, AddWebAuthnView):
    told = second_factor.PASSKEY_ADDED


@require_http_methods(["GET", "POST"])
@for_signed_in_without
def remove(request: Request, pk: int) -> HttpResponseBase:
    """One of one's own apps and passkeys."""
    factor = get_object_or_404(second_factor.factors_of(request.user), pk=pk)
    return _remove(request, factor)


@asks_again
def _remove(request: Request, factor: Authenticator) -> HttpResponse:
    if request.method == "POST":
        try:
            second_factor.remove(request.user, factor)
            messages.success(request, "It is removed.")
        except second_factor.OnlyOne as refused:
            messages.error(request, str(refused))
        return redirect("mfa_index")
    context = {"factor": factor} | account_frame(request.user)
    return render(request, "mfa/remove.html", context)


class RecoveryCodes(_InOurFrame, ViewRecoveryCodesView):
    """Once after they were made, and never again."""

    def dispatch(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponseBase:
        answer: HttpResponseBase = super().dispatch(request, *args, **kwargs)
        answer.headers["Cache-Control"] = "private, no-store"
        return answer


class _OfWhoHasOne(_InOurFrame):
    def dispatch(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not second_factor.factors_of(request.user).exists():
            return redirect("mfa_index")
        answer: HttpResponseBase = super().dispatch(request, *args, **kwargs)  # type: ignore[misc]
        return answer


class NewRecoveryCodes(_OfWhoHasOne, GenerateRecoveryCodesView):
    def form_valid(self, form: Any) -> HttpResponse:
        with transaction.atomic():
            answer: HttpResponse = super().form_valid(form)
            second_factor.tell(self.request.user, second_factor.NEW_CODES)
        return answer


class SignInAgain(_OfWhoHasOne, ReauthenticateView):
    """Shown once more before something that another must not do."""


class SignInAgainByPasskey(_OfWhoHasOne, ReauthenticateWebAuthnView):
    def form_invalid(self, form: Any) -> HttpResponse:
        """On this page, which says so; allauth would lead to signing in."""
        answer: HttpResponse = self.render_to_response(self.get_context_data(form=form))
        return answer


sign_in = AuthenticateView.as_view()
sign_in_by_passkey = LoginWebAuthnView.as_view()
