"""Markup as tests read it, however its template is wrapped."""

import re


def one_line(html: str) -> str:
    """With each run of white space as one blank, and none before the end of a tag."""
    return re.sub(r"\s+(>|/>)", r"\1", re.sub(r"\s+", " ", html))
