"""An app that shows codes, as RFC 6238 has it, and somebody who has one."""

import base64
import hashlib
import hmac
import struct
import time
from dataclasses import dataclass

from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP, generate_totp_secret

from athletes.models import User

STEP = 30
"""Seconds."""


def code_at(secret: bytes, moment: float) -> str:
    """The six digits that an app shows then."""
    digest = hmac.digest(secret, struct.pack(">Q", int(moment) // STEP), hashlib.sha1)
    start = digest[-1] & 15
    (number,) = struct.unpack(">I", digest[start : start + 4])
    return f"{(number & 0x7FFFFFFF) % 1_000_000:06}"


@dataclass(frozen=True)
class App:
    secret: str
    """As it stands on the page, in base 32."""
    key: int = 0
    """Of its row."""

    def code(self, steps: int = 0) -> str:
        """What it shows now, or so many half minutes later."""
        return code_at(base64.b32decode(self.secret), time.time() + steps * STEP)


def app_of(person: User) -> App:
    """This person has set one up, with recovery codes."""
    RecoveryCodes.activate(person)
    secret = generate_totp_secret()
    return App(secret, TOTP.activate(person, secret).instance.pk)
