"""What others do when everything is as it was at another time."""

from typing import Final

from django.dispatch import Signal

database_restored: Final = Signal()
"""Sent with the path of the archive as `path`, after the restored database has its name and its
uploads."""
