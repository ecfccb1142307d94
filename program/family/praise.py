"""A line of praise for the family when a child has moved on: for effort and control, and never
beside another child."""

import datetime as dt
from typing import TYPE_CHECKING, Final

from athletes.models import Child
from program.engine.fit.reasons import within
from program.models import Resolution
from program.models.resolutions import Do, Kind

if TYPE_CHECKING:
    from athletes.models import User

SHOWN: Final = dt.timedelta(days=14)


def praise_of(user: "User", child: Child, now: dt.datetime) -> list[str]:
    """What the child has learnt of late, a sentence for each time a coach let it move on; the
    newest first, in one query."""
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
    )
    return [
        f"{child.given_name} has learnt {within(before['learnt'])}: steady and under control, "
        f"two sessions in a row. That comes from practising with care. "
        f"Next is {within(before['next'])}."
        for before in moved.values_list("before", flat=True)
    ]
