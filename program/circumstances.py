"""What fit must know of each child on the day of a session, in a fixed number of queries."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable
from typing import Final

from athletes.models import Child, HomeKit, Placement, Restriction
from library.body import Region, RestrictionKind, Side
from program.engine import fit_limits
from program.engine.fit_limits import FitChild
from program.models import Override, Place, Session

CONTACT_CEILINGS: Final = ((9, 60), (12, 80))
"""Most ground contacts in one session for children younger than so many years. Common practice,
from memory: the handbooks' 80 to 100 is for grown beginners, and a child starts below it."""
CONTACT_CEILING_OF_THE_OLDER: Final = 100


def contact_ceiling(age: int) -> int:
    """The most ground contacts a session may ask of a child of this age, in completed years."""
    for below, ceiling in CONTACT_CEILINGS:
        if age < below:
            return ceiling
    return CONTACT_CEILING_OF_THE_OLDER


def circumstances_of(children: Collection[Child], session: Session) -> list[FitChild]:
    """Each child as fit sees it on the session's day and place, in the given order."""
    placements, more = _placements(children)
    kits = _kits(children, session)
    restrictions = _restrictions(children, session.date)
    overrides = _overrides(children, session)
    return [
        FitChild(
            key=str(child.pk),
            age=child.age_on(session.date),
            contact_ceiling=contact_ceiling(child.age_on(session.date)),
            placements=placements[child.pk],
            kit=kits.get(child.pk),
            restrictions=tuple(restrictions[child.pk]),
            in_growth_spurt=_grows_fast(child, session.date),
            overrides=overrides[child.pk],
            more=more[child.pk],
        )
        for child in children
    ]


def _grows_fast(child: Child, day: dt.date) -> bool:
    return child.growing_fast_until is not None and day <= child.growing_fast_until


def _placements(
    children: Iterable[Child],
) -> tuple[dict[int, dict[str, str]], dict[int, dict[str, int]]]:
    """By child, the exercise of each pathway, and how much more than written of an exercise."""
    found: dict[int, dict[str, str]] = defaultdict(dict)
    more: dict[int, dict[str, int]] = defaultdict(dict)
    rows = Placement.objects.current().filter(child__in=children)
    for child, pathway, exercise, raised in rows.values_list(
        "child", "pathway__slug", "exercise__slug", "dose_raise__amount"
    ):
        found[child][pathway] = exercise
        if raised:
            more[child][exercise] = raised
    return found, more


def _kits(children: Collection[Child], session: Session) -> dict[int, frozenset[str]]:
    """At the venue everybody has the venue's kit; at home a family that has not said has none."""
    if session.place == Place.VENUE:
        venue = frozenset(session.block.cohort.venue_items.values_list("slug", flat=True))
        return dict.fromkeys((child.pk for child in children), venue)
    said: dict[int, set[str]] = defaultdict(set)
    answered = HomeKit.objects.filter(child__in=children)
    for child, item in answered.values_list("child", "items__slug"):
        said[child] |= {item} if item else set()
    return {child: frozenset(items) for child, items in said.items()}


def _restrictions(
    children: Iterable[Child], day: dt.date
) -> dict[int, list[fit_limits.Restriction]]:
    found: dict[int, list[fit_limits.Restriction]] = defaultdict(list)
    for row in Restriction.objects.filter(child__in=children).in_force(day).order_by("pk"):
        found[row.child_id].append(
            fit_limits.Restriction(Region(row.region), RestrictionKind(row.kind), Side(row.side))
        )
    return found


def _overrides(children: Iterable[Child], session: Session) -> dict[int, dict[str, str | None]]:
    found: dict[int, dict[str, str | None]] = defaultdict(dict)
    rows = Override.objects.filter(child__in=children, slot__part__session=session)
    for child, slot, exercise in rows.values_list("child", "slot", "exercise__slug"):
        found[child][str(slot)] = exercise
    return found
