"""Who does nothing for now: something was reported that no exercise can be chosen around, or a
coach has set a time of rest."""

import datetime as dt
from collections.abc import Collection, Iterable

from athletes.models import Restriction
from program.models import PainReport


def held_back(children: Collection[int], day: dt.date) -> set[int]:
    """Those of these children, by key, who may do nothing on that day. In one query."""
    warned = PainReport.objects.unanswered().warnings().filter(child__in=children)
    resting = Restriction.objects.in_force(day).filter(child__in=children, region="")
    keys = warned.order_by().values_list("child", flat=True)
    return set(keys.union(resting.order_by().values_list("child", flat=True)).order_by())


def is_held_back(unanswered: Iterable[PainReport], in_force: Iterable[Restriction]) -> bool:
    """The same of one child whose unanswered reports and restrictions in force are at hand."""
    warned = any(each.pain.is_warning for each in unanswered)
    return warned or any(not each.region for each in in_force)
