"""A text that families have answered is never changed under its number."""

import hashlib

from athletes.consent_texts import CARRIED_OVER, TEXTS
from athletes.models import ConsentPurpose
from athletes.models.consents import DELETED_AFTER

KNOWN = {
    (ConsentPurpose.TRAINING, 1): "6c3c088b5e10de66",
    (ConsentPurpose.HEALTH_NOTES, 1): "4a1b1104e46373a6",
    (ConsentPurpose.MEASUREMENTS, 1): "0465786a28391341",
    (ConsentPurpose.PHOTOS, 1): "f6d19b9c5c40e44e",
    (ConsentPurpose.MAIL, 1): "15d59063624277c3",
    (ConsentPurpose.MAIL, 2): "40edb67cd5eb6ef4",
}


def digest_of(text) -> str:
    words = "\n".join((text.title, text.question, text.purpose, text.without))
    return hashlib.sha256(words.encode()).hexdigest()[:16]


def test_another_text_has_another_number():
    """Changed words fail here: give them the next number, and add its line."""
    assert set(TEXTS) == set(ConsentPurpose)
    for purpose, text in TEXTS.items():
        assert KNOWN[purpose, text.version] == digest_of(text), purpose
        assert text.version > CARRIED_OVER


def test_what_a_text_promises_is_what_is_done():
    assert DELETED_AFTER.days == 14
    for purpose in (ConsentPurpose.MEASUREMENTS, ConsentPurpose.PHOTOS):
        assert "after two weeks" in TEXTS[purpose].without
