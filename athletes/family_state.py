"""Whether anybody of a child's family is here, and what was done to get them here."""

import datetime as dt
from enum import StrEnum

from django.db.models import Case, CharField, Exists, OuterRef, Q, Value, When
from django.utils import timezone

from athletes.models import Guardianship, Invitation, Role
from athletes.models.children import born_by


class FamilyState(StrEnum):
    """`HERE`: somebody who answers for the child has signed in. `UNDELIVERED`: the mail did not
    reach anybody. `RUN_OUT`: nobody used the invitation in time."""

    HERE = "here"
    INVITED = "invited"
    UNDELIVERED = "undelivered"
    RUN_OUT = "run_out"
    NOT_INVITED = "not_invited"


def family_state(now: dt.datetime, child: str = "child") -> Case:
    """The FamilyState of the child that `child` leads to, to annotate a query with; "" for a query
    of children."""
    key, about = child or "pk", f"{child}__" if child else ""
    guardians = Guardianship.objects.filter(child=OuterRef(key))
    unused = Invitation.objects.unused().filter(child=OuterRef(key), role=Role.GUARDIAN)
    open_ones = unused.filter(expires_at__gt=now)
    answers_alone = Q(
        **{
            f"{about}user__isnull": False,
            f"{about}birth_date__lte": born_by(timezone.localdate(now)),
        }
    )
    return Case(
        When(Exists(guardians) | answers_alone, then=Value(FamilyState.HERE.value)),
        When(
            Exists(open_ones.filter(mail_failed_at__isnull=True)),
            then=Value(FamilyState.INVITED.value),
        ),
        When(Exists(open_ones), then=Value(FamilyState.UNDELIVERED.value)),
        When(Exists(unused), then=Value(FamilyState.RUN_OUT.value)),
        default=Value(FamilyState.NOT_INVITED.value),
        output_field=CharField(),
    )
