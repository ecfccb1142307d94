"""The coach's word for one child in one slot, and what follows from it."""

import datetime as dt
from collections.abc import Sequence

from django.db import transaction

from athletes.models import Child, User
from library.models import Exercise
from program.engine.checks import CheckResult
from program.models import Override, Session, Slot
from program.publish.own_choices import stops_against
from program.publish.publishing import NotThereAnyMore, locked, publish_anew_for


class ChoiceNeedsReason(Exception):
    """A check says stop to this choice, and nobody has written why the child gets it
    nevertheless."""

    def __init__(self, stops: Sequence[CheckResult]) -> None:
        super().__init__(" ".join(stop.sentence for stop in stops))
        self.stops = tuple(stops)


@transaction.atomic
def set_override(
    slot: Slot,
    child: Child,
    exercise: Exercise | None,
    note: str,
    by: User | None,
    now: dt.datetime,
    because: str = "",
) -> Override:
    """Give this child an exercise in this slot, or none to leave it out. Saying it again with
    something else replaces it; a session that is out goes out anew for this child.

    `because` is the coach's reason where a check says stop; it is kept with what was said. Raises
    ChoiceNeedsReason for a stop without one, and NotThereAnyMore for a slot that was taken out.
    """
    written = locked(slot.part.session, [child])
    if slot not in written.all_slots():
        raise NotThereAnyMore
    stops = stops_against(written, slot, child, exercise.slug) if exercise else ()
    if stops and not because.strip():
        raise ChoiceNeedsReason(stops)
    return restore_override(
        Override(
            slot=slot,
            child=child,
            exercise=exercise,
            note=note,
            set_by=by,
            in_spite_of=[stop.sentence for stop in stops],
            because=because.strip() if stops else "",
        ),
        now,
    )


@transaction.atomic
def restore_override(override: Override, now: dt.datetime) -> Override:
    """Let a choice stand that was asked about before, in the place of whatever stands there."""
    kept, _ = Override.objects.update_or_create(
        slot=override.slot,
        child=override.child,
        defaults={
            "exercise": override.exercise,
            "note": override.note,
            "in_spite_of": override.in_spite_of,
            "because": override.because,
            "set_by": override.set_by,
        },
    )
    _send_anew(kept.slot.part.session, kept.child, now)
    return kept


@transaction.atomic
def remove_override(slot: Slot, child: Child, now: dt.datetime) -> None:
    """Let fit decide again. Raises NotThereAnyMore."""
    locked(slot.part.session, [child])
    deleted, _ = Override.objects.filter(slot=slot, child=child).delete()
    if deleted:
        _send_anew(slot.part.session, child, now)


def _send_anew(session: Session, child: Child, now: dt.datetime) -> None:
    """Edits that are not published yet are left for the coach to publish."""
    if session.is_published and not session.is_edited_since_publishing:
        publish_anew_for(session, child, now)
