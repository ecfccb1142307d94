"""Who was not sent a published session, and nobody has decided so: one query."""

import datetime as dt
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from django.db.models import CharField, Exists, F, OuterRef, Value
from django.db.models.functions import Cast, Concat

from athletes.models import Child
from program.models import Resolution, Session
from program.models.resolutions import Kind

if TYPE_CHECKING:
    from athletes.models import User

LOOKS_AHEAD: Final = dt.timedelta(days=14)


@dataclass
class Held:
    """Names by session; children by cohort who wait for some session after the week, by key."""

    by_session: dict[int, list[str]] = field(default_factory=dict)
    later_by_cohort: dict[int, set[int]] = field(default_factory=dict)


def held_from(user: "User", monday: dt.date, sunday: dt.date, today: dt.date) -> Held:
    """Those of the week, and of the two weeks from today on. Who is left without a session because
    a coach said "not this time" waits no longer."""
    child = "block__cohort__enrolments__child__"
    last = max(sunday, today + LOOKS_AHEAD)
    said = Resolution.objects.hiding(today).filter(
        child=OuterRef("held"), finding=OuterRef("decision")
    )
    sessions: Any = Session.objects.visible_to(user).filter(date__range=(monday, last))
    rows = (
        sessions.held_from(Child.objects.visible_to(user))
        .annotate(
            decision=Concat(
                Value(f"{Kind.DECIDE}-"), Cast("pk", CharField()), output_field=CharField()
            ),
            given_name=F(f"{child}given_name"),
            initial=F(f"{child}family_initial"),
        )
        .filter(~Exists(said))
        .order_by("date", "pk", "given_name", "initial", "held")
        .values_list("pk", "date", "block__cohort", "held", "given_name", "initial")
    )
    found = Held()
    for session, date, cohort, key, given_name, initial in rows:
        if date <= sunday:
            found.by_session.setdefault(session, []).append(f"{given_name} {initial}.")
        else:
            found.later_by_cohort.setdefault(cohort, set()).add(key)
    return found
