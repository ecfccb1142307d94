"""What a written reason is, for the database and for a form."""

import re
from typing import Any, Final

from django import forms
from django.db.models import Q

LONGEST_REASON: Final = 300
NO_REASON: Final = "Write the reason; it is kept and shown."
NO_WORDS: Final = "Write the reason in words; they are kept and shown."
IN_WORDS: Final = r"[^[:space:][:digit:][:punct:]].*[[:space:]].*[^[:space:][:digit:][:punct:]]{2}"
"""Two words at least, the last of two letters or more, in the words of Postgres: no full stop, no
number and no "ok" is a reason."""


def in_words(field: str) -> Q:
    """The condition that a column holds words."""
    return Q(**{f"{field}__regex": IN_WORDS})


def is_in_words(text: str) -> bool:
    """What this lets through, the database keeps."""
    return re.search(r"[^\W\d_].*\s.*[^\W\d_]{2}", text, re.DOTALL) is not None


class ReasonField(forms.CharField):
    """One or two sentences that are kept; blanks, a full stop or a number are no reason."""

    widget = forms.Textarea(attrs={"rows": 3})

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=LONGEST_REASON, **kwargs)
        self.error_messages["required"] = NO_REASON

    def validate(self, value: str) -> None:
        super().validate(value)
        if value and not is_in_words(value):
            raise forms.ValidationError(NO_WORDS, code="no_words")
