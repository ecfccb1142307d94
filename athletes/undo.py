"""Taking back what was just said about a child, as if it had not been said.

Each is one transaction and tells whoever plans for the child. Each returns False, and changes
nothing, where something else was said since.
"""

import datetime as dt

from django.db import transaction

from athletes.changes import lock, tell
from athletes.models import Placement, Restriction
from athletes.signals import Circumstance


@transaction.atomic
def undo_placement(made: Placement) -> bool:
    """The child stands again where it stood before this placement."""
    lock(made.child)
    if not made.child.placements.current().filter(pk=made.pk).exists():
        return False
    before = (
        made.child.placements.filter(pathway=made.pathway, ended_at__isnull=False)
        .exclude(pk=made.pk)
        .order_by("-ended_at", "-pk")
        .first()
    )
    made.delete()
    if before:
        before.ended_at = None
        before.save(update_fields=["ended_at"])
    tell(made.child, Circumstance.PLACEMENT)
    return True


@transaction.atomic
def undo_restriction(restriction: Restriction, before: dt.date | None) -> bool:
    """It ends again on the day it ended `before` it was stretched; with None it never was."""
    lock(restriction.child)
    still = Restriction.objects.filter(
        pk=restriction.pk, until=restriction.until, lifted_on__isnull=True
    )
    changed = bool(still.delete()[0] if before is None else still.update(until=before))
    if changed:
        tell(restriction.child, Circumstance.RESTRICTION)
    return changed


@transaction.atomic
def undo_lift(restriction: Restriction) -> bool:
    """Nobody has said that it is fine again."""
    lock(restriction.child)
    same = restriction.child.restrictions.filter(
        region=restriction.region, side=restriction.side, kind=restriction.kind
    )
    if same.open_on(restriction.start).filter(start__lte=restriction.until).exists():
        return False
    lifted = same.filter(pk=restriction.pk, lifted_on__isnull=False)
    changed = bool(lifted.update(lifted_on=None, lifted_by=None))
    if changed:
        tell(restriction.child, Circumstance.RESTRICTION)
    return changed
