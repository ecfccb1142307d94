"""Row security shows nothing to a connection that does not say who acts."""

from typing import Final

BEGINS_AS_THE_PROGRAM: Final = "-c fledge.sees_all=on"
"""Startup option by which a connection of ours begins as the program itself; a page is read as the
person who opens it (`library/shared/acting.py`)."""
