"""Allauth's forms, in our words, and stricter in two ways: a code that was used is over, and a
factor that was just shown need not be shown again."""

import struct
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

from allauth.core import context
from allauth.core.internal.cryptokit import normalize_user_code
from allauth.mfa.adapter import get_adapter
from allauth.mfa.base.forms import AuthenticateForm, ReauthenticateForm
from allauth.mfa.base.internal.flows import post_authentication
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.forms import ActivateTOTPForm
from allauth.mfa.webauthn.forms import (
    AddWebAuthnForm,
    AuthenticateWebAuthnForm,
    LoginWebAuthnForm,
    ReauthenticateWebAuthnForm,
)
from cryptography.exceptions import InvalidSignature
from django import forms
from django.core.cache import cache

CODE_LASTS: Final = 3 * 30
"""Seconds for which one and the same code fits: its own half minute and one on each side."""


def code_field(label: str, help_text: str = "") -> forms.CharField:
    # Not a number: a leading nought counts.
    widget = forms.TextInput(
        attrs={"autocomplete": "one-time-code", "inputmode": "numeric", "autofocus": True}
    )
    return forms.CharField(label=label, max_length=20, help_text=help_text, widget=widget)


class _UsedOnce:
    """RFC 6238, 5.2: a code is not accepted a second time. Allauth remembers it for half a minute
    alone, and we take one from the half minute before, too."""

    user: Any

    def clean_code(self) -> str:
        code: str = super().clean_code()  # type: ignore[misc]
        used = f"second-factor-{self.user.pk}-{normalize_user_code(code)}"
        if not cache.add(used, 1, CODE_LASTS):
            raise get_adapter().validation_error("incorrect_code")
        return code


class SignInForm(_UsedOnce, AuthenticateForm):
    code = code_field("Code", "Six digits from your app, or a recovery code")

    def save(self) -> None:
        post_authentication(context.request, self.authenticator, reauthenticated=True)


class AgainForm(_UsedOnce, ReauthenticateForm):
    code = code_field("Code", "Six digits from your app, or a recovery code")


class PasskeyAnswer(forms.JSONField):
    """What a browser answers for a passkey, as JSON; it answers anew each time it is asked, so none
    is shown again."""

    widget = forms.HiddenInput

    def bound_data(self, data: Any, initial: Any) -> None:
        return None

    def prepare_value(self, value: Any) -> str:
        return ""

    def to_python(self, value: Any) -> Any:
        with refusing_nonsense():
            answer = super().to_python(value)
            if answer is not None and not isinstance(answer.get("response"), dict):
                raise ValueError
        return answer


@contextmanager
def refusing_nonsense() -> Iterator[None]:
    """What comes in place of a passkey's answer is read by libraries that complain in many ways."""
    try:
        yield
    except NONSENSE as wrong:
        raise get_adapter().validation_error("incorrect_code") from wrong


NONSENSE: Final = (
    AttributeError,
    InvalidSignature,
    LookupError,
    RecursionError,
    TypeError,
    ValueError,
    struct.error,
)


class _ByPasskey:
    def clean_credential(self) -> Authenticator:
        with refusing_nonsense():
            shown: Authenticator = super().clean_credential()  # type: ignore[misc]
        return shown


class SignInByPasskeyForm(_ByPasskey, AuthenticateWebAuthnForm):
    credential = PasskeyAnswer()
    reauthenticated = True


class AgainByPasskeyForm(_ByPasskey, ReauthenticateWebAuthnForm):
    credential = PasskeyAnswer()


class PasskeyAloneForm(_ByPasskey, LoginWebAuthnForm):
    credential = PasskeyAnswer()
    reauthenticated = True


class AppForm(ActivateTOTPForm):
    code = code_field("Code", "Six digits that the app shows now")


class PasskeyForm(AddWebAuthnForm):
    name = forms.CharField(
        label="Name it",
        max_length=40,
        required=False,
        help_text="so that you know it again, such as “my phone”",
    )
    credential = PasskeyAnswer()
    passwordless = None  # each passkey can be used alone where its device asks who is there

    def clean(self) -> dict[str, Any]:
        with refusing_nonsense():
            data: dict[str, Any] = super().clean()
        return data
