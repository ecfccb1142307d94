"""One note of the coaches on a whole session, written over by nobody who has not read it."""

import datetime as dt
from typing import TYPE_CHECKING

from program.common.edit_conflicts import refuse_unseen
from program.models import Session, SessionNote

if TYPE_CHECKING:
    from athletes.models import User


def note_of(user: "User", session: Session) -> SessionNote | None:
    """The session's note with who wrote it, for those who may read it."""
    notes = SessionNote.objects.visible_to(user).select_related("written_by", "edited_by")
    return notes.filter(session=session).first()


def write_note(session: Session, text: str, seen: str, by: "User", now: dt.datetime) -> bool:
    """Whether the note changed: an empty text takes it away, the same text does nothing. `seen` is
    the `mark` of what the text was written over, "" for none. Call inside a transaction. Raises
    EditConflict where it is another by now."""
    # Held, so that two first notes come one after the other.
    Session.objects.select_for_update(no_key=True).only("pk").get(pk=session.pk)
    notes = SessionNote.objects.select_related("written_by", "edited_by")
    there = notes.filter(session=session).first()
    if text == (there.text if there else ""):
        return False
    refuse_unseen(seen, there.mark if there else "", _meanwhile(there))
    if there is None:
        SessionNote.objects.create(session=session, text=text, written_at=now, written_by=by)
    elif text:
        there.text, there.edited_at, there.edited_by = text, now, by
        there.save(update_fields=["text", "edited_at", "edited_by"])
    else:
        there.delete()
    return True


def _meanwhile(there: SessionNote | None) -> str:
    if there is None:
        return "The note you read has been taken away meanwhile. Saving again writes yours."
    who = there.edited_by or there.written_by or "Somebody"
    return f"{who} has written meanwhile: “{there}” Saving again puts yours in its place."
