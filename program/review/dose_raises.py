"""A little more of an exercise than written, for one child: given, and taken back."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from athletes.changes import tell
from athletes.models import Child, User
from athletes.signals import Circumstance
from program.models import DoseRaise

type Raised = dict[str, Any]
"""The `placement`, what it `was` raised by and `since` when, and what it `is` raised by now."""


@transaction.atomic
def raise_doses(
    child: Child, by_placement: Mapping[int, int], by: User, now: dt.datetime
) -> list[Raised]:
    """So much more of each, on top of what there was. What is not started is chosen anew after the
    commit. Raises a ValidationError where the child has moved on since."""
    current = child.placements.current().select_related("dose_raise").in_bulk(by_placement)
    if current.keys() != by_placement.keys():
        raise ValidationError("The child works on something else by now.", code="moved")
    raised = []
    for pk, more in by_placement.items():
        there: DoseRaise | None = getattr(current[pk], "dose_raise", None)
        total = (there.amount if there else 0) + more
        DoseRaise.objects.update_or_create(
            placement_id=pk, defaults={"amount": total, "set_by": by, "set_at": now}
        )
        was, since = (there.amount, there.set_at.isoformat()) if there else (0, "")
        raised.append({"placement": pk, "was": was, "since": since, "is": total})
    tell(child, Circumstance.PLACEMENT)
    return raised


def undo_raises(child: Child, raised: Sequence[Raised]) -> bool:
    """As it was before; False where something else was decided since, with nothing to keep."""
    for each in raised:
        still = DoseRaise.objects.filter(
            placement=each["placement"], placement__child=child, amount=each["is"]
        )
        before = {"amount": each["was"], "set_at": each["since"]}
        if not (still.update(**before) if each["was"] else still.delete()[0]):
            return False
    tell(child, Circumstance.PLACEMENT)
    return True
