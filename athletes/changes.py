"""What changes about a child, and word of it to whoever plans for the child.

Every function is one transaction, and two about one child happen one after the other.
`circumstances_changed` is sent within it, and only where something really is different: repeating a
change changes nothing and tells nobody.
"""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from athletes.models import Child, Cohort, Enrolment, HomeKit, Placement, Restriction, User
from athletes.placement_ladder import Ladder, ladder_of
from athletes.signals import (
    Circumstance,
    circumstances_changed,
    circumstances_of_many_changed,
)
from library.body import Region, RestrictionKind, Side
from library.models import Exercise, Item, Pathway
from library.shared.dates import date_in_words


def tell(child: Child, what: Circumstance) -> None:
    """Call it when the change is written, in its transaction."""
    circumstances_changed.send(sender=Child, child=child, what=what)


def tell_of_many(children: Collection[int], what: Circumstance) -> None:
    """`tell` of many by key, who are locked or were made in this transaction."""
    circumstances_of_many_changed.send(sender=Child, children=children, what=what)


@transaction.atomic
def answer_kit(child: Child, items: Collection[Item], by: User) -> HomeKit:
    """Keep what a family says is at home; the whole answer replaces the one before."""
    lock(child)
    if _write_kits({child: items}, by):
        tell(child, Circumstance.KIT)
    return HomeKit.objects.get(child=child)


@transaction.atomic
def answer_kits(
    answers: Mapping[Child, Collection[Item]], seen: Mapping[Child, str], by: User
) -> list[Child]:
    """`answer_kit` of many, in a fixed number of queries. `seen` holds the mark of the answer that
    each was shown with, "" for none; nothing is written of those who were answered for since then,
    and they are returned."""
    lock_children(answers)
    marks = {kit.child_id: kit.mark for kit in HomeKit.objects.filter(child__in=answers)}
    unseen = [child for child in answers if marks.get(child.pk, "") != seen[child]]
    changed = _write_kits({child: answers[child] for child in answers if child not in unseen}, by)
    if changed:
        tell_of_many(changed, Circumstance.KIT)
    return unseen


def _write_kits(answers: Mapping[Child, Collection[Item]], by: User) -> list[int]:
    """Of children who are locked; whose home is another one now than was said, by key."""
    wanted = {child.pk: {item.pk for item in items} for child, items in answers.items()}
    kits = dict(HomeKit.objects.filter(child__in=wanted).values_list("child", "pk"))
    HomeKit.objects.filter(pk__in=kits.values()).update(answered_by=by, answered_at=timezone.now())
    made = HomeKit.objects.bulk_create(
        HomeKit(child_id=key, answered_by=by) for key in wanted if key not in kits
    )
    before = _exchange_items(kits | {kit.child_id: kit.pk for kit in made}, wanted)
    return [key for key in wanted if key not in kits or before[key] != wanted[key]]


def _exchange_items(kits: Mapping[int, int], wanted: Mapping[int, set[int]]) -> dict[int, set[int]]:
    """Put the wanted items in place of those of each child's kit, which are returned."""
    rows = HomeKit.items.through.objects.filter(homekit__in=kits.values())
    had: dict[int, set[int]] = {child: set() for child in wanted}
    gone = []
    for pk, child, item in rows.values_list("pk", "homekit__child", "item"):
        had[child].add(item)
        if item not in wanted[child]:
            gone.append(pk)
    HomeKit.items.through.objects.filter(pk__in=gone).delete()
    HomeKit.items.through.objects.bulk_create(
        HomeKit.items.through(homekit_id=kits[child], item_id=item)
        for child, items in wanted.items()
        for item in sorted(items - had[child])
    )
    return had


@transaction.atomic
def equip_venue(cohort: Cohort, items: Collection[Item]) -> None:
    """Keep what is at hand where the cohort trains."""
    lock_cohorts([cohort])
    before = set(cohort.venue_items.values_list("pk", flat=True))
    if before == {item.pk for item in items}:
        return
    cohort.venue_items.set(items)
    still = Enrolment.objects.running_after(timezone.localdate() - dt.timedelta(days=1))
    children = Child.objects.filter(enrolments__in=still.filter(cohort=cohort)).distinct()
    keys = list(children.values_list("pk", flat=True))
    _lock_rows(Child.objects.filter(pk__in=keys))
    tell_of_many(keys, Circumstance.VENUE)


@dataclass(frozen=True)
class Restricted:
    """What a new restriction led to. `before` is the last day that was already set, if any."""

    restriction: Restriction
    before: dt.date | None
    changed: bool

    @property
    def in_words(self) -> str:
        what, until = self.restriction.rule, date_in_words(self.restriction.until)
        if self.before is None:
            return f"{what} until {until}."
        if not self.changed:
            return f"{what} was set already until {until}."
        before = date_in_words(self.before)
        return f"{what} was set already until {before}. It now holds until {until}."


@dataclass(frozen=True)
class Rule:
    """What is to be spared, how, and from which day to which; without a region the whole body.
    `without` are exercises to be left out by name."""

    region: Region | None
    side: Side
    kind: RestrictionKind
    start: dt.date
    until: dt.date
    note: str = ""
    without: tuple[Exercise, ...] = ()

    @property
    def place(self) -> dict[str, str]:
        """What it is about, as a restriction keeps it."""
        region = self.region.value if self.region else ""
        return {"region": region, "side": self.side.value, "kind": self.kind.value}


@transaction.atomic
def restrict(child: Child, rule: Rule, by: User, today: dt.date) -> Restricted:
    """Set a restriction. One of the same region, side and kind on overlapping days is stretched to
    cover both, never shortened; one that is over counts as answered. Saying the same again has what
    is ahead chosen anew. Raises a ValidationError for days that run backwards."""
    if rule.until < rule.start:
        raise ValidationError("A restriction cannot end before it starts.", code="backwards")
    lock(child)
    same = child.restrictions.filter(**rule.place)
    same.unanswered(today).update(lifted_on=today, lifted_by=by)
    overlapping = list(same.open_on(rule.start).filter(start__lte=rule.until).order_by("start"))
    if not overlapping:
        made = child.restrictions.create(
            **rule.place, start=rule.start, until=rule.until, note=rule.note, set_by=by
        )
        made.without.set(rule.without)
        tell(child, Circumstance.RESTRICTION)
        return Restricted(made, before=None, changed=True)
    return _stretched(child, overlapping, rule, by)


def _stretched(child: Child, overlapping: list[Restriction], rule: Rule, by: User) -> Restricted:
    kept, *swallowed = overlapping
    before = max(each.until for each in overlapping)
    start, until = min(kept.start, rule.start), max(before, rule.until)
    changed = (kept.start, kept.until) != (start, until)
    left_out = {one for each in overlapping for one in each.without.all()}
    if changed or rule.note:
        # The swallowed first: until they are gone, the days they share are taken.
        Restriction.objects.filter(pk__in=[each.pk for each in swallowed]).delete()
        kept.start, kept.until, kept.set_by = start, until, by
        kept.note = rule.note or kept.note
        kept.save(update_fields=["start", "until", "set_by", "note"])
    kept.without.set(left_out | set(rule.without))
    tell(child, Circumstance.RESTRICTION)
    return Restricted(kept, before=before, changed=changed)


@transaction.atomic
def lift(restriction: Restriction, by: User, today: dt.date) -> bool:
    """Say that it is fine again from today on: ends the restriction, or answers one that is over.

    False if somebody had said so before.
    """
    lock(restriction.child)
    still = Restriction.objects.filter(pk=restriction.pk, lifted_on__isnull=True)
    lifted = still.update(lifted_on=today, lifted_by=by)
    if lifted and restriction.until >= today:
        tell(restriction.child, Circumstance.RESTRICTION)
    return bool(lifted)


@transaction.atomic
def set_growing_fast(child: Child, until: dt.date | None) -> bool:
    """Go gently while a child grows fast, until a day or, with None, no longer. False if it was
    so before."""
    if lock(child).growing_fast_until == until:
        return False
    child.growing_fast_until = until
    child.save(update_fields=["growing_fast_until"])
    tell(child, Circumstance.GROWTH)
    return True


def place(child: Child, pathway: Pathway, exercise: Exercise, by: User, why: str = "") -> Placement:
    """Put the child on an exercise of a pathway, ending the placement there was.

    Placing a child where it stands changes nothing, unless nobody had seen it there: then it is
    seen now. Raises a ValidationError for an exercise that
    is not published or not on the pathway.
    """
    return place_all(child, {pathway: exercise}, by, why)[0]


@transaction.atomic
def place_all(
    child: Child, choices: Mapping[Pathway, Exercise], by: User, why: str = ""
) -> list[Placement]:
    """`place` on several pathways, all or none, in a fixed number of queries. Returns the current
    placement of each, in the given order."""
    _refuse_unplaceable(choices)
    lock(child)
    now = timezone.now()
    current = {
        placement.pathway_id: placement
        for placement in child.placements.current().filter(pathway__in=choices)
    }
    moved = {
        pathway: exercise
        for pathway, exercise in choices.items()
        if not _is_seen_at(exercise, current.get(pathway.pk))
    }
    _end([current[pathway.pk] for pathway in moved if pathway.pk in current], now)
    made = Placement.objects.bulk_create(
        Placement(
            child=child, pathway=pathway, exercise=exercise, placed_at=now, placed_by=by, why=why
        )
        for pathway, exercise in moved.items()
    )
    if made:
        tell(child, Circumstance.PLACEMENT)
    current |= {placement.pathway_id: placement for placement in made}
    return [current[pathway.pk] for pathway in choices]


def _is_seen_at(exercise: Exercise, placement: Placement | None) -> bool:
    return placement is not None and placement.is_seen and placement.exercise_id == exercise.pk


@transaction.atomic
def start_all(starts: Mapping[Child, Mapping[Pathway, Exercise]], by: User) -> list[Placement]:
    """Put children on pathways where they have no placement, at exercises that nobody has seen them
    do; in a fixed number of queries. Who was placed meanwhile stays there."""
    lock_children(starts)
    current = Placement.objects.current().filter(child__in=starts)
    placed = set(current.values_list("child", "pathway"))
    now = timezone.now()
    made = Placement.objects.bulk_create(
        Placement(
            child=child,
            pathway=pathway,
            exercise=exercise,
            placed_at=now,
            placed_by=by,
            is_seen=False,
        )
        for child, those in starts.items()
        for pathway, exercise in those.items()
        if (child.pk, pathway.pk) not in placed
    )
    if made:
        tell_of_many({placement.child_id for placement in made}, Circumstance.PLACEMENT)
    return made


@transaction.atomic
def see_as_they_stand(placements: Collection[Placement], by: User) -> list[Placement]:
    """Say that a coach has seen these children do what nobody had seen yet; in a fixed number of
    queries. Returns the placements of now; what was seen or moved meanwhile is not among them."""
    children = {placement.child_id for placement in placements}
    _lock_rows(Child.objects.filter(pk__in=children))
    still = Placement.objects.current().not_seen()
    not_seen = list(still.filter(pk__in=[placement.pk for placement in placements]))
    now = timezone.now()
    _end(not_seen, now)
    seen = Placement.objects.bulk_create(
        Placement(
            child_id=each.child_id,
            pathway_id=each.pathway_id,
            exercise_id=each.exercise_id,
            placed_at=each.ended_at or now,
            placed_by=by,
        )
        for each in not_seen
    )
    if seen:
        tell_of_many({placement.child_id for placement in seen}, Circumstance.PLACEMENT)
    return seen


def _end(placements: Iterable[Placement], now: dt.datetime) -> None:
    for placement in placements:
        # Another machine's clock may have been a little ahead of ours.
        placement.ended_at = max(now, placement.placed_at)
    Placement.objects.bulk_update(placements, ["ended_at"])


def _refuse_unplaceable(choices: Mapping[Pathway, Exercise]) -> None:
    pathways = Pathway.objects.filter(pk__in=[pathway.pk for pathway in choices]).with_graph()
    ladders: dict[int, Ladder] = {pathway.pk: ladder_of(pathway) for pathway in pathways}
    for pathway, exercise in choices.items():
        if not exercise.is_published:
            raise ValidationError(
                f"{exercise} is not published. Choose another exercise.", code="unpublished"
            )
        if exercise not in ladders[pathway.pk]:
            raise ValidationError(f"{exercise} is not on the pathway {pathway}.", code="elsewhere")


@transaction.atomic
def enrol(child: Child, cohort: Cohort, start: dt.date) -> Enrolment:
    """Raises a ValidationError if the child is in this cohort on some of those days already."""
    lock_cohorts([cohort])
    lock(child)
    enrolment = Enrolment(child=child, cohort=cohort, start=start)
    enrolment.validate_constraints()
    enrolment.save()
    tell(child, Circumstance.COHORT)
    return enrolment


@transaction.atomic
def withdraw(child: Child, cohorts: Collection[Cohort], last_day: dt.date) -> list[Cohort]:
    """Take the child out of these cohorts after a day; returns those it was in.

    An enrolment that would only have begun after that day never happened and is removed.
    """
    lock_cohorts(cohorts)
    lock(child)
    open_ended = Enrolment.objects.filter(child=child, cohort__in=cohorts).running_after(last_day)
    enrolments = list(open_ended.select_related("cohort"))
    open_ended.filter(start__gt=last_day).delete()
    open_ended.update(end=last_day)
    if enrolments:
        tell(child, Circumstance.COHORT)
    return sorted({enrolment.cohort for enrolment in enrolments}, key=str)


def lock(child: Child) -> Child:
    """The child as it is now, nobody else's to change until the transaction ends. Whoever publishes
    to it takes the same lock, so that either sees what the other has written; what only points at
    the child is not held up."""
    return Child.objects.select_for_update(no_key=True).get(pk=child.pk)


def lock_children(children: Iterable[Child]) -> None:
    """`lock` of many, in the one order."""
    _lock_rows(Child.objects.filter(pk__in=[child.pk for child in children]))


def lock_cohorts(cohorts: Iterable[Cohort]) -> None:
    """Nobody joins or leaves them until the transaction ends. Cohorts first, then children."""
    _lock_rows(Cohort.objects.filter(pk__in=[cohort.pk for cohort in cohorts]))


def _lock_rows(rows: QuerySet[Child] | QuerySet[Cohort]) -> None:
    list(rows.select_for_update(no_key=True).order_by("pk").values_list("pk"))
