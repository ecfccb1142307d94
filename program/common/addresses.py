"""Where a session’s pages for the family are."""

from django.urls import reverse

from athletes.models import Child
from program.models import AssignedSession


def address(session: AssignedSession, child: Child, name: str = "session_day") -> str:
    """Where a session's page for the family is."""
    return reverse(f"program:{name}", args=[child.public_id, session.public_id])
