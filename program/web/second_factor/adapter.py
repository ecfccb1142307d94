"""What allauth asks us about second factors (MFA_ADAPTER)."""

import base64
import os
from typing import Any, Final

import segno
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator

from library.shared.sealing import seal, unsealed

PURPOSE: Final = "second factor"
"""Another one would make every app and every recovery code worthless."""


class SecondFactors(DefaultMFAAdapter):
    error_messages = DefaultMFAAdapter.error_messages | {
        "incorrect_code": "That did not fit. A code holds for half a minute, and works once.",
        "cannot_generate_recovery_codes": "Set up an app or a passkey first.",
    }

    def encrypt(self, text: str) -> str:
        """The secret of an app, or that from which recovery codes are made."""
        return base64.b64encode(seal(text.encode(), PURPOSE)).decode()

    def decrypt(self, encrypted_text: str) -> str:
        """Where SECRET_KEY is another one by now, a secret that nobody knows, so that no code
        fits."""
        content = unsealed(base64.b64decode(encrypted_text), PURPOSE)
        return content.decode() if content else base64.b32encode(os.urandom(20)).decode()

    def build_totp_svg(self, url: str) -> str:
        """Dark on light in every scheme, since cameras read no other."""
        drawn: str = segno.make(url, error="m").svg_inline(
            scale=5, border=4, dark="#000", light="#fff", omitsize=True, svgclass="qr"
        )
        return drawn

    def generate_authenticator_name(self, user: Any, type: Authenticator.Type) -> str:  # noqa: A002
        """Where whoever adds a passkey gives it no name."""
        return "A passkey"

    def _get_site_name(self) -> str:
        return "Fledge"
