"""What fit must know of each child on the day of a session, in a fixed number of queries however
many children and sessions there are."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from django.contrib.postgres.aggregates import ArrayAgg
from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import Exists, OuterRef, Q, Value
from django.db.models.functions import JSONObject

from athletes.models import Child, Cohort, ConsentPurpose, HomeKit, Placement, Restriction
from athletes.models.consents import refused
from library.body import Region, RestrictionKind, Side
from library.landing import ContactClass
from program.engine.contact_ceilings import contact_ceiling
from program.engine.fit import limits
from program.engine.fit.library import FitLibrary
from program.engine.fit.limits import ComingBack, FitChild
from program.engine.pain import Pain
from program.fit.landings import landings_beside
from program.models import (
    AssignedSession,
    Override,
    PainReport,
    Place,
    Session,
    Slot,
    StandingDecision,
    WayBackStep,
)
from program.models.pain import PAIN_COLUMNS
from program.models.standing_decisions import HOLDS


def circumstances_over(
    children: Collection[Child], sessions: Sequence[Session], library: FitLibrary
) -> list[list[FitChild]]:
    """For each of some sessions of one cohort, fetched with their slots, each child as fit sees it
    that day."""
    known = _known(children)
    at_the_venue = [session for session in sessions if session.place == Place.VENUE]
    venue = _venue_kit(at_the_venue[0]) if at_the_venue else frozenset()
    overrides = _overrides(children, sessions)
    beside = landings_beside(children, sessions, library)
    return [
        [
            known[child.pk].fitted_to(
                session, venue, overrides[session.pk, child.pk], beside[session.pk, child.pk]
            )
            for child in children
        ]
        for session in sessions
    ]


def circumstances_of_assigned(assigned: Sequence[AssignedSession]) -> list[FitChild]:
    """The child of each of some assigned sessions as fit sees it on its day and place, in the given
    order, in two queries. Each comes with its `child` and its `session__block`. What a coach has
    decided is not in it, nor what the child's other sessions of the day hold."""
    known = _known({each.child for each in assigned})
    venues = _venue_kits({each.session.block.cohort_id for each in assigned})
    return [
        known[each.child_id].on(each, venues[each.session.block.cohort_id]) for each in assigned
    ]


@dataclass(frozen=True)
class _Known:
    """What is known of a child whatever the day; `home` is None where the family has not said."""

    child: Child
    placements: Mapping[str, str]
    not_seen: frozenset[str]
    more: Mapping[str, int]
    home: frozenset[str] | None
    restrictions: Sequence["_Spared"]
    unanswered: Sequence[Pain]
    way_back: Sequence[WayBackStep]
    training_is_refused: bool
    decided: Sequence["_Decided"]

    def fitted_to(
        self,
        session: Session,
        venue: frozenset[str],
        overrides: Mapping[str, str | None],
        elsewhere: Mapping[str, Mapping[ContactClass, float]],
    ) -> FitChild:
        """With what the coach has decided for the session's slots, and for this one alone above
        that, and what the child lands in its other sessions of the day."""
        block = session.block
        decided = [
            each for each in self.decided if each.row.holds_in(session, block.cohort_id, block.pk)
        ]
        slots = session.all_slots()
        always = [each for each in decided if not each.row.where_nothing_fits]
        where_nothing_fits = [each for each in decided if each.row.where_nothing_fits]
        return replace(
            self.on(session, venue),
            elsewhere=elsewhere,
            overrides=_words_for(slots, always) | dict(overrides),
            where_nothing_fits=_words_for(slots, where_nothing_fits),
            left_out_lacking=tuple(
                frozenset(each.row.needing) for each in where_nothing_fits if each.row.needing
            ),
        )

    def on(self, session: Session | AssignedSession, venue: frozenset[str]) -> FitChild:
        day = session.date
        age = self.child.age_on(day)
        return FitChild(
            key=str(self.child.pk),
            age=age,
            contact_ceiling=contact_ceiling(age),
            placements=self.placements,
            not_seen=self.not_seen,
            kit=venue if session.place == Place.VENUE else self.home,
            restrictions=self._restrictions(day),
            coming_back=self._coming_back(day),
            is_held_back=any(pain.is_warning for pain in self.unanswered),
            training_is_refused=self.training_is_refused,
            in_growth_spurt=self.child.grows_fast_on(day),
            more=self.more,
        )

    def _restrictions(self, day: dt.date) -> tuple[limits.Restriction, ...]:
        """Those in force that day, and whatever hurts and nobody has answered, whatever the day."""
        set_down = (each.limit for each in self.restrictions if each.row.is_in_force(day))
        hurting = (each for pain in self.unanswered for each in pain.spares)
        return tuple(dict.fromkeys((*set_down, *hurting)))

    def _coming_back(self, day: dt.date) -> tuple[ComingBack, ...]:
        return tuple(each.coming_back for each in self.way_back if each.is_in_force(day))


@dataclass(frozen=True)
class _Spared:
    """A restriction, and the exercises it leaves out by name."""

    row: Restriction
    without: frozenset[str]

    @property
    def limit(self) -> limits.Restriction:
        region = Region(self.row.region) if self.row.region else None
        kind, side = RestrictionKind(self.row.kind), Side(self.row.side)
        return limits.Restriction(region, kind, side, self.without)


@dataclass(frozen=True)
class _Decided:
    """A standing decision, with the written exercise that it is about and what comes instead."""

    row: StandingDecision
    written: str | None
    instead: str | None


def _words_for(slots: Sequence[Slot], decided: Sequence[_Decided]) -> dict[str, str | None]:
    """By slot, the coach's word about the exercise that is written there."""
    by_exercise = {each.written: each.instead for each in decided if each.written}
    return {
        str(slot.pk): by_exercise[slot.exercise.slug]
        for slot in slots
        if slot.exercise.slug in by_exercise
    }


def _known(children: Collection[Child]) -> dict[int, _Known]:
    """By child, in one query."""
    kit = HomeKit.objects.filter(child=OuterRef("pk"))
    placed = Placement.objects.current().filter(child=OuterRef("pk")).order_by("pk")
    spared = Restriction.objects.filter(child=OuterRef("pk")).order_by("pk")
    left_out = Restriction.without.through.objects.filter(restriction=OuterRef("pk"))
    back = WayBackStep.objects.current().filter(child=OuterRef("pk")).order_by("pk")
    decided = StandingDecision.objects.standing().filter(child=OuterRef("pk")).order_by("pk")
    hurting = PainReport.objects.unanswered().filter(child=OuterRef("pk"), spares=True)
    rows = Child.objects.filter(pk__in=[child.pk for child in children]).values_list(
        "pk",
        ArraySubquery(
            placed.values(
                json=JSONObject(
                    pathway="pathway__slug",
                    exercise="exercise__slug",
                    more="dose_raise__amount",
                    is_seen="is_seen",
                )
            )
        ),
        Exists(kit),
        ArraySubquery(kit.filter(items__isnull=False).values("items__slug")),
        ArraySubquery(
            spared.annotate(left_out=ArraySubquery(left_out.values("exercise__slug"))).values(
                json=JSONObject(left_out="left_out", **{name: name for name in _SPARED})
            )
        ),
        ArraySubquery(
            hurting.order_by("pk").values(
                json=JSONObject(
                    exercise="revision__exercise__slug", **{name: name for name in PAIN_COLUMNS}
                )
            )
        ),
        ArraySubquery(back.values(json=JSONObject(**{name: name for name in _WAY_BACK}))),
        refused(ConsentPurpose.TRAINING),
        ArraySubquery(
            decided.values(
                json=JSONObject(
                    written="written__slug",
                    instead="exercise__slug",
                    **{name: name for name in HOLDS},
                )
            )
        ),
    )
    by_key = {child.pk: child for child in children}
    return {
        key: _Known(
            child=by_key[key],
            placements={each["pathway"]: each["exercise"] for each in placements},
            not_seen=frozenset(each["pathway"] for each in placements if not each["is_seen"]),
            more={
                each["exercise"]: each["more"]
                for each in placements
                if each["more"] and each["is_seen"]
            },
            home=frozenset(items) if has_said else None,
            restrictions=[_restriction(each) for each in restrictions],
            unanswered=[Pain.stored(each) for each in pains],
            way_back=[WayBackStep(**_with_days(each, "since", "until")) for each in steps],
            training_is_refused=says_no,
            decided=[_decided(each) for each in decisions],
        )
        for key, placements, has_said, items, restrictions, pains, steps, says_no, decisions in rows
    }


_SPARED: Final = ("region", "side", "kind", "start", "until", "lifted_on")
_WAY_BACK: Final = ("region", "side", "step", "since", "until")


def _restriction(row: dict[str, Any]) -> _Spared:
    """A row as JSON has it, with its days as days again; not to be saved."""
    without = frozenset(row.pop("left_out"))
    return _Spared(Restriction(**_with_days(row, "start", "until", "lifted_on")), without)


def _decided(row: dict[str, Any]) -> _Decided:
    """A row as JSON has it, with its day as a day again; not to be saved."""
    written, instead = row.pop("written"), row.pop("instead")
    return _Decided(StandingDecision(**_with_days(row, "until")), written, instead)


def _with_days(row: dict[str, Any], *names: str) -> dict[str, Any]:
    days = {name: dt.date.fromisoformat(row[name]) if row[name] else None for name in names}
    return row | days


def _venue_kit(session: Session) -> frozenset[str]:
    cohort = session.block.cohort_id
    return _venue_kits([cohort])[cohort]


def _venue_kits(cohorts: Collection[int]) -> dict[int, frozenset[str]]:
    """By cohort, what its venue has."""
    items = ArrayAgg("venue_items__slug", filter=Q(venue_items__isnull=False), default=Value([]))
    rows = Cohort.objects.filter(pk__in=cohorts).order_by().values_list("pk").annotate(kit=items)
    return {key: frozenset(kit) for key, kit in rows}


def _overrides(
    children: Collection[Child], sessions: Sequence[Session]
) -> dict[tuple[int, int], dict[str, str | None]]:
    """By session and child, the coach's word by slot."""
    found: dict[tuple[int, int], dict[str, str | None]] = defaultdict(dict)
    rows = Override.objects.filter(
        child__in=children, slot__part__session__in=[session.pk for session in sessions]
    )
    for session, child, slot, exercise in rows.values_list(
        "slot__part__session", "child", "slot", "exercise__slug"
    ):
        found[session, child][str(slot)] = exercise
    return found
