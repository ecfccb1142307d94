"""Allauth's addresses as far as they are used, under the names by which it leads to them."""

from collections.abc import Callable
from typing import Any

from django.urls import URLPattern, path
from django.views.decorators.http import require_GET, require_http_methods

from library.shared.access import asks_again
from program.web.second_factor import views
from program.web.second_factor.mailed_code import SignInAgainByMail

type Page = Callable[..., Any]


def own(view: Page) -> Page:
    """Only looked at, by whoever is signed in."""
    return require_GET(views.for_signed_in_without(view))


def own_form(view: Page) -> Page:
    return require_http_methods(["GET", "POST"])(views.for_signed_in_without(view))


OWN = "second-factor/"

urlpatterns: list[URLPattern] = [
    path(
        "sign-in/second-factor/",
        require_http_methods(["GET", "POST"])(views.sign_in),
        name="mfa_authenticate",
    ),
    path(
        "sign-in/passkey/",
        require_http_methods(["GET", "POST"])(views.sign_in_by_passkey),
        name="mfa_login_webauthn",
    ),
    path(OWN, own(views.OwnFactors.as_view()), name="mfa_index"),
    path(f"{OWN}app/", own_form(asks_again(views.AddApp.as_view())), name="mfa_activate_totp"),
    path(
        f"{OWN}passkey/",
        own_form(asks_again(views.AddPasskey.as_view())),
        name="mfa_add_webauthn",
    ),
    path(f"{OWN}<int:pk>/remove/", views.remove, name="remove_second_factor"),
    path(f"{OWN}codes/", own(views.RecoveryCodes.as_view()), name="mfa_view_recovery_codes"),
    path(
        f"{OWN}codes/new/",
        own_form(views.NewRecoveryCodes.as_view()),
        name="mfa_generate_recovery_codes",
    ),
    path(f"{OWN}again/", own_form(views.SignInAgain.as_view()), name="mfa_reauthenticate"),
    path(
        f"{OWN}again/mail/",
        require_http_methods(["GET", "POST"])(
            views.for_coaches_without(SignInAgainByMail.as_view())
        ),
        name="sign_in_again_by_mail",
    ),
    path(
        f"{OWN}again/passkey/",
        own_form(views.SignInAgainByPasskey.as_view()),
        name="mfa_reauthenticate_webauthn",
    ),
]
