"""What a family has answered."""

import datetime as dt
from collections.abc import Collection
from zoneinfo import ZoneInfo

from athletes.consent_texts import TEXTS
from athletes.models import Child, Consent, ConsentPurpose, User

LONG_AGO = dt.datetime(2026, 9, 7, 19, tzinfo=ZoneInfo("Europe/London"))
HEIGHTS = (ConsentPurpose.MEASUREMENTS,)
USUAL = tuple(each for each in ConsentPurpose if each not in HEIGHTS)
"""Heights are agreed to by a test that is about them: the queue wants one measured then."""


def said(
    child: Child,
    person: User,
    purposes: Collection[ConsentPurpose] = USUAL,
    *,
    given: bool = True,
    at: dt.datetime = LONG_AGO,
) -> list[Consent]:
    """In one statement, as it stands afterwards: nothing is told to anybody."""
    return Consent.objects.bulk_create(
        Consent(
            child=child,
            purpose=purpose,
            given=given,
            version=TEXTS[purpose].version,
            answered_by=person,
            at=at,
        )
        for purpose in purposes
    )
