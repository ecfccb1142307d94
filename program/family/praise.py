"""A line of praise for the family when a child has moved on: for effort and control, never beside
another child, and never for going on where something hurt."""

import datetime as dt
from typing import TYPE_CHECKING, Final

from django.db.models import Exists, OuterRef

from athletes.models import Child
from program.engine.fit.reasons import within
from program.engine.pain import TELLING_IS_RIGHT
from program.models import PainReport, Resolution
from program.models.resolutions import Do, Kind

if TYPE_CHECKING:
    from athletes.models import User

SHOWN: Final = dt.timedelta(days=14)
LOOKED_BACK: Final = dt.timedelta(days=14)
"""How long before a child moved on the two sessions usually lie for which it is praised."""


def praise_of(user: "User", child: Child, now: dt.datetime) -> list[str]:
    """What the child has learnt of late, a sentence for each time a coach let it move on; the
    newest first, in one query. Where something hurt in the sessions before it or has since, it is
    said instead, once, that telling was right."""
    moved = (
        Resolution.objects.visible_to(user)
        .standing()
        .filter(
            child=child,
            at__gte=now - SHOWN,
            finding__startswith=f"{Kind.MOVE_ON}-",
            action__startswith=f"{Do.PLACE}:",
            before__has_key="learnt",
        )
        .annotate(
            hurt=Exists(
                PainReport.objects.standing().filter(
                    child=OuterRef("child"), reported_at__gte=OuterRef("at") - LOOKED_BACK
                )
            )
        )
    )
    said = (
        TELLING_IS_RIGHT if hurt else _learnt(child, before)
        for before, hurt in moved.values_list("before", "hurt")
    )
    return list(dict.fromkeys(said))


def _learnt(child: Child, before: dict[str, str]) -> str:
    return (
        f"{child.given_name} has learnt {within(before['learnt'])}: steady and under control, "
        f"two sessions in a row. That comes from practising with care. "
        f"Next is {within(before['next'])}."
    )
