"""What is kept so that a copy of the database alone cannot read it or forge it.

AES-256 in Galois/Counter Mode (NIST SP 800-38D) with a new random nonce each time, under keys made
from SECRET_KEY by HKDF (RFC 5869), another one for each purpose.
"""

import os
from typing import Final

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

NONCE: Final = 12
"""Bytes, as the standard recommends."""


def seal(content: bytes, purpose: str) -> bytes:
    """`purpose` goes into the key: what is sealed for one is not read for another. It may hold a
    secret that is stored nowhere, without which nobody unseals it."""
    nonce = os.urandom(NONCE)
    return nonce + _cipher(settings.SECRET_KEY, purpose).encrypt(nonce, content, None)


def unsealed(sealed: bytes, purpose: str) -> bytes | None:
    """None where it was changed, or sealed under a key that neither SECRET_KEY nor
    SECRET_KEY_FALLBACKS holds."""
    nonce, content = sealed[:NONCE], sealed[NONCE:]
    for secret in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS):
        try:
            return _cipher(secret, purpose).decrypt(nonce, content, None)
        except (InvalidTag, ValueError):  # ValueError: shorter than a nonce
            continue
    return None


def _cipher(secret: str, purpose: str) -> AESGCM:
    made = HKDF(SHA256(), length=32, salt=None, info=purpose.encode())
    return AESGCM(made.derive(secret.encode()))
