"""What nobody means: texts, numbers, days and keys that a field or an address may hold."""

import random
import uuid
from typing import Final

FAR: Final = "9" * 40

TEXTS: Final = (
    *("", " ", "\t\n", "\0", "a\0b", "\udc80", "\ud83d", "\ufeff", "\u202eabc", "\u0000\uffff"),
    *("x" * 5_000, "ä" * 300, "🤸" * 100, "\u0301" * 200, "\r\nSet-Cookie: a=b"),
    *("<script>alert(1)</script>", "'; DROP TABLE athletes_child; --", "{{ 7|add:7 }}", "%s%n%x"),
    *("%00", "%C3%28", "%", "../../etc/passwd", "a;b=c", "null", "None", "undefined", "true", "on"),
    *("[]", "{}", '{"a": 1}', "[" * 200, "a@b", "@", "a@b@c.example", "x" * 250 + "@example.org"),
)
NUMBERS: Final = (
    *("0", "-1", "-0", "1", "2", "7", "99", "100", "32767", "32768", "65536", "2147483647"),
    *("2147483648", "9223372036854775807", "9223372036854775808", "-9223372036854775809"),
    *(FAR, "9" * 5_000, "1e309", "1e5", "-1e-9", "NaN", "inf", "-Infinity", "0x10", "1_000"),
    *("1.5", "1,5", "140.55555", ".5", "٣", "１２", "²", "½", "+3", " 4 ", "4 5", "1:2:3:4"),
)
DAYS: Final = (
    *("2026-02-31", "2026-13-01", "2026-00-10", "0000-01-01", "0001-01-01", "0001-01-02"),
    *("9999-12-31", "9999-12-30", "10000-01-01", "-2026-01-01", "1900-01-01", "2026-W05"),
    *("2026-060", "31.02.2026", "2026-11-03T25:00", "2026-11-03 18:30", "20261103", "2026-1-1"),
    *("2026-11-02", "2026-11-04", "2026-11-09", "2027-04-05", "tomorrow", "٢٠٢٦-١١-٠٣"),
)
KEYS: Final = (
    *("00000000-0000-0000-0000-000000000000", "ffffffff-ffff-ffff-ffff-ffffffffffff"),
    *("7f0c4d525f0e4b7f9d552f8f4c1f3a10", "7f0c4d52-5f0e-4b7f-9d55-2f8f4c1f3a1", "{}", "-"),
    *("urn:uuid:7f0c4d52-5f0e-4b7f-9d55-2f8f4c1f3a10", "zzzzzzzz-0000-0000-0000-000000000000"),
)


def anything(chance: random.Random) -> str:
    """A text that a field may be sent with; half a surrogate is among them."""
    kind = chance.randrange(6)
    if kind == 0:
        return chance.choice(TEXTS)
    if kind == 1:
        return chance.choice(NUMBERS)
    if kind == 2:
        return chance.choice(DAYS)
    if kind == 3:
        return chance.choice(KEYS)
    if kind == 4:
        return str(
            chance.choice(
                [
                    chance.randint(-5, 40),
                    chance.getrandbits(chance.choice([8, 31, 33, 63, 64, 65, 128])),
                ]
            )
        )
    return _scribbled(chance)


def _scribbled(chance: random.Random) -> str:
    """Some letters of the whole of Unicode, or of what is used to part things."""
    letters = (
        [chr(chance.randrange(0x110000)) for _ in range(chance.randint(1, 12))]
        if chance.random() < 0.5
        else chance.choices("0123456789:;,.-_/|&=?#%+ \\\"'<>()[]{}\n\0", k=chance.randint(1, 20))
    )
    return "".join(letters)


def a_key(chance: random.Random) -> str:
    return str(uuid.UUID(int=chance.getrandbits(128)))


def bent(text: str, chance: random.Random) -> str:
    """What was right, with a place of it wrong."""
    if not text:
        return anything(chance)
    at = chance.randrange(len(text))
    how = chance.randrange(5)
    if how == 0:
        return text[:at]
    if how == 1:
        return text[:at] + anything(chance)[:200] + text[at:]
    if how == 2:
        return text[:at] + chance.choice(":;,.-/0 \0") + text[at + 1 :]
    if how == 3:
        return text * chance.choice([2, 50])
    return text.swapcase()[::-1]
