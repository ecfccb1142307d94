"""What takes two head coaches, or a day where there is only one."""

import datetime as dt
from typing import Final

from django.db.models import QuerySet

from athletes.models import Role, User

A_LITTLE: Final = dt.timedelta(minutes=1)
"""So much after the day the worker looks: its clock is not the database's."""


def other_head_coaches(by: User | None) -> QuerySet[User]:
    """All of them where it is nobody's."""
    heads = User.objects.filter(role=Role.HEAD_COACH, is_active=True)
    return heads.exclude(pk=by.pk) if by else heads


def may_agree(
    by: User, asked_by_id: int | None, holds_alone_at: dt.datetime, now: dt.datetime
) -> bool:
    """Another head coach, or, a day later, the one who asked and is the only one."""
    by.refresh_from_db(fields=["role", "is_active"])
    if not (by.is_active and by.is_head_coach):
        return False
    is_second = by.pk != asked_by_id
    return is_second or (now >= holds_alone_at and not other_head_coaches(by).exists())


def what_is_awaited(by: User) -> str:
    """In words, for whoever has asked."""
    if other_head_coaches(by).exists():
        return "another head coach agrees"
    return "a day is over, since there is no other head coach: in a day"
