"""Who does nothing for now: something was reported that no exercise can be chosen around, a coach
has set a time of rest, or the family has said no to training."""

import datetime as dt
from collections.abc import Collection, Iterable

from athletes.models import Child, ConsentPurpose, Restriction
from athletes.models.consents import refused
from program.models import PainReport


def held_back(children: Collection[int], day: dt.date) -> set[int]:
    """Those of these children, by key, who may do nothing on that day. In one query."""
    warned = PainReport.objects.unanswered().warnings().filter(child__in=children)
    resting = Restriction.objects.in_force(day).filter(child__in=children, region="")
    refusing = Child.objects.filter(refused(ConsentPurpose.TRAINING), pk__in=children)
    keys = warned.order_by().values_list("child", flat=True)
    others = (
        resting.order_by().values_list("child", flat=True),
        refusing.order_by().values_list("pk", flat=True),
    )
    return set(keys.union(*others).order_by())


def is_held_back(unanswered: Iterable[PainReport], in_force: Iterable[Restriction]) -> bool:
    """Whether one child rests whose unanswered reports and restrictions in force are at hand; what
    its family says to training is told beside it."""
    warned = any(each.pain.is_warning for each in unanswered)
    return warned or any(not each.region for each in in_force)
