"""Keeping what is said of a child's sport outside the program. Nothing that is planned follows from
it: coaches are told, and decide."""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from athletes.changes import lock
from athletes.models import Child, DifferentWeek, SportElsewhere, User


@dataclass(frozen=True)
class UsualSport:
    """Hours a week, and the weekdays of each kind, 1 for Monday. No hours have no days."""

    hours: Decimal = Decimal(0)
    school: Collection[int] = ()
    club: Collection[int] = ()
    matches: Collection[int] = ()


@transaction.atomic
def say_usual(
    child: Child, usual: UsualSport, monday: dt.date, by: User, now: dt.datetime
) -> SportElsewhere:
    """Keep what holds from the week of this Monday on; another answer in one week replaces it."""
    lock(child)
    said = {
        "hours": usual.hours,
        "school": sorted(usual.school),
        "club": sorted(usual.club),
        "matches": sorted(usual.matches),
        "said_at": now,
        "said_by": by,
    }
    kept, _ = SportElsewhere.objects.update_or_create(said, child=child, since=monday)
    return kept


@transaction.atomic
def say_week(
    child: Child, monday: dt.date, how: DifferentWeek.How | None, by: User, now: dt.datetime
) -> None:
    """Say that a week differs from the usual one, or with None that it does not after all."""
    lock(child)
    if how is None:
        DifferentWeek.objects.filter(child=child, week=monday).delete()
        return
    said = {"how": how, "said_at": now, "said_by": by}
    DifferentWeek.objects.update_or_create(said, child=child, week=monday)
