"""What a written reason is, for the database and for a form."""

import re
from typing import Final

from django.db.models import Q

IN_WORDS: Final = r"[^[:space:][:digit:][:punct:]].*[[:space:]].*[^[:space:][:digit:][:punct:]]{2}"
"""Two words at least, the last of two letters or more, in the words of Postgres: no full stop, no
number and no "ok" is a reason."""


def in_words(field: str) -> Q:
    """The condition that a column holds words."""
    return Q(**{f"{field}__regex": IN_WORDS})


def is_in_words(text: str) -> bool:
    """What this lets through, the database keeps."""
    return re.search(r"[^\W\d_].*\s.*[^\W\d_]{2}", text, re.DOTALL) is not None
