"""The coach's word for one child in one slot, and what follows from it."""

import datetime as dt

from django.db import transaction

from athletes.models import Child, User
from library.models import Exercise
from program.models import Override, Session, Slot
from program.publish.publishing import publish_anew_for


@transaction.atomic
def set_override(
    slot: Slot,
    child: Child,
    exercise: Exercise | None,
    note: str,
    by: User | None,
    now: dt.datetime,
) -> Override:
    """Give this child an exercise in this slot, or none to leave it out. Saying it again with
    something else replaces it; a session that is out goes out anew for this child."""
    override, _ = Override.objects.update_or_create(
        slot=slot, child=child, defaults={"exercise": exercise, "note": note, "set_by": by}
    )
    _send_anew(slot.part.session, child, now)
    return override


@transaction.atomic
def remove_override(slot: Slot, child: Child, now: dt.datetime) -> None:
    """Let fit decide again."""
    deleted, _ = Override.objects.filter(slot=slot, child=child).delete()
    if deleted:
        _send_anew(slot.part.session, child, now)


def _send_anew(session: Session, child: Child, now: dt.datetime) -> None:
    """Edits that are not published yet are left for the coach to publish."""
    if session.is_published and not session.is_edited_since_publishing:
        publish_anew_for(session, child, now)
