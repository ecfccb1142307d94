"""What the block's pages read of its sessions."""

from collections.abc import Iterable

from django.db.models import Prefetch

from program.common.library_snapshot import LibrarySnapshot, library_snapshot
from program.models import Block, Part, Session, Slot


def sessions_of(block: Block) -> list[Session]:
    """The block's sessions by day, each with parts, slots and the library's exercises."""
    parts = Part.objects.order_by("position").prefetch_related(
        Prefetch("slots", Slot.objects.order_by("position"))
    )
    sessions = list(
        block.sessions.order_by("date", "id").prefetch_related(Prefetch("parts", parts))
    )
    share_library(sessions, library_snapshot())
    return sessions


def share_library(sessions: Iterable[Session], library: LibrarySnapshot) -> None:
    """Let the slots point at the library in memory instead of asking for each exercise."""
    for session in sessions:
        for part in session.parts.all():
            for slot in part.slots.all():
                if exercise := library.exercises.get(slot.exercise_id):
                    slot.exercise = exercise
