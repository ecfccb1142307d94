"""What weighs most wants two people, or a day where one person does both."""

import datetime as dt
from typing import Final

from django.db.models import F, Q

A_SECOND_LOOK: Final = dt.timedelta(days=1)
"""Between asking and agreeing, where one person does both."""


def a_second_person_or_a_day(asked_by: str, asked_at: str, agreed_by: str, agreed_at: str) -> Q:
    """A constraint over these columns. Whoever has left counts as another."""
    return (
        Q(**{f"{agreed_by}__isnull": True})
        | Q(**{f"{asked_by}__isnull": True})
        | ~Q(**{agreed_by: F(asked_by)})
        | Q(**{f"{agreed_at}__gte": F(asked_at) + A_SECOND_LOOK})
    )
