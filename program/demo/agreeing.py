"""Writing what the demo's families agree to: almost everything. Half of them would rather not have
their child measured, and one father says no to photos where the mother said yes."""

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Final

from django.utils import timezone

from athletes.consent_texts import TEXTS
from athletes.models import Child, Consent, ConsentPurpose, Guardianship, Role, User

NOT_ASKED: Final = 5
DIFFERS: Final = 1
"""The place in the club of the child whose guardians disagree."""
FATHER: Final = ("second.parent@fledge.example", "Anders Lindqvist")


def agrees_to_heights(number: int) -> bool:
    """Of the child in this place of the club."""
    return number % 2 == 0


def write_answers(children: Sequence[Child], first_day: dt.date) -> None:
    """What each guardian said a year ago, but for one in eight, who left heights unanswered."""
    at = timezone.make_aware(dt.datetime.combine(first_day - dt.timedelta(days=350), dt.time(19)))
    guardians = dict(
        Guardianship.objects.filter(child__in=children).values_list("child", "guardian")
    )
    Consent.objects.bulk_create(
        Consent(
            child=child,
            purpose=purpose,
            given=given,
            version=TEXTS[purpose].version,
            answered_by_id=guardians[child.pk],
            at=at,
        )
        for number, child in enumerate(children)
        for purpose, given in _said(number)
    )
    if len(children) > DIFFERS:
        _write_other_answer(children[DIFFERS], at)


def _said(number: int) -> Iterator[tuple[ConsentPurpose, bool]]:
    for purpose in ConsentPurpose:
        if purpose != ConsentPurpose.MEASUREMENTS:
            yield purpose, True
        elif number % 8 != NOT_ASKED:
            yield purpose, agrees_to_heights(number)


def _write_other_answer(child: Child, at: dt.datetime) -> None:
    address, name = FATHER
    father = User.objects.create_user(address, name=name, role=Role.GUARDIAN)
    child.guardianships.create(guardian=father)
    Consent.objects.bulk_create(
        Consent(
            child=child,
            purpose=purpose,
            given=purpose != ConsentPurpose.PHOTOS,
            version=TEXTS[purpose].version,
            answered_by=father,
            at=at,
        )
        for purpose in (ConsentPurpose.TRAINING, ConsentPurpose.PHOTOS, ConsentPurpose.MAIL)
    )
