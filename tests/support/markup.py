"""Markup as tests read it, however its template is wrapped."""

import re
from typing import Any


def one_line(html: str) -> str:
    """With each run of white space as one blank, and none before the end of a tag."""
    return re.sub(r"\s+(>|/>)", r"\1", re.sub(r"\s+", " ", html))


def markup(answer: Any) -> str:
    """What a test client was answered with, in one line."""
    return one_line(answer.content.decode())
