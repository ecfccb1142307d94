"""Reading a number that came with a form or an address: the one place where text becomes an id."""

from typing import Final

MOST: Final = 2**63 - 1
"""What a key of ours can be at most."""
_DIGITS: Final = len(str(MOST))


def whole_number(text: str | None, most: int = MOST) -> int | None:
    """The number, 0 or more, that the text is in plain digits; None for anything else, also for
    one above `most`. However long the text is, it costs nothing and raises nothing."""
    if not text or len(text) > _DIGITS or not (text.isascii() and text.isdecimal()):
        return None
    number = int(text)
    return number if number <= most else None
