"""Writing the demo's people: coaches, cohorts, families, kits, placements, restrictions."""

import datetime as dt
import random
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from django.utils import timezone

from athletes.models import (
    Child,
    Cohort,
    Enrolment,
    Guardianship,
    HomeKit,
    Placement,
    Restriction,
    Role,
    SportElsewhere,
    User,
)
from athletes.sport_elsewhere import UsualSport
from library.graph import PathwayGraph
from library.models import Exercise, Item, Pathway
from program.common.library_snapshot import library_snapshot
from program.demo.scenario import COACHES, GIVEN_NAMES, GROUPS, HEAD, HOMES, VENUE_ITEMS
from program.demo.sign_in import DEMO_ACCOUNTS
from program.engine.fit.limits import ReturnStep
from program.models import WayBackStep

BEFORE = dt.timedelta(weeks=4)
PARENT, ATHLETE, COACH_AND_PARENT = (each.email for each in DEMO_ACCOUNTS[2:])
COACHS_OWN: Final = 4
"""The place in the club of the child whose parent coaches another cohort."""
EXAMPLE_ADDRESS = "family{}@fledge.example"


def write_coaches() -> dict[str, Cohort]:
    """The coaches and their cohorts, by cohort name."""
    User.objects.create_user(HEAD[1], name=HEAD[0], role=Role.HEAD_COACH)
    cohorts = {
        group.name: Cohort.objects.create(
            name=group.name, youngest=group.ages[0], oldest=group.ages[1]
        )
        for group in GROUPS
    }
    venue = Item.objects.filter(slug__in=VENUE_ITEMS)
    for cohort in cohorts.values():
        cohort.venue_items.set(venue)
    for name, email, coached in COACHES:
        coach = User.objects.create_user(email, name=name, role=Role.COACH)
        coach.cohorts.set([cohorts[each] for each in coached])
    return cohorts


def write_children(
    cohorts: dict[str, Cohort], count: int, start: dt.date, chance: random.Random
) -> list[Child]:
    """The children in the order they were invented, enrolled from the first day on."""
    groups = [GROUPS[number % len(GROUPS)] for number in range(count)]
    children = Child.objects.bulk_create(
        Child(
            given_name=_given_name(number),
            family_initial=chance.choice("ABDEFGHKLMNOPRSTVW"),
            birth_date=_birth_date(group.ages, start, chance),
        )
        for number, group in enumerate(groups)
    )
    Enrolment.objects.bulk_create(
        Enrolment(child=child, cohort=cohorts[group.name], start=start)
        for child, group in zip(children, groups, strict=True)
    )
    _write_families(children)
    return children


def _given_name(number: int) -> str:
    """Each name once; past the list, doubled names such as "Aiko-Sol"."""
    lap, place = divmod(number * 7, len(GIVEN_NAMES))
    first = GIVEN_NAMES[place]
    return first if lap % 7 == 0 or number < len(GIVEN_NAMES) else f"{first}-{GIVEN_NAMES[-lap]}"


def _birth_date(ages: tuple[int, int], start: dt.date, chance: random.Random) -> dt.date:
    """A birth date that keeps the child within the cohort's ages for a year."""
    age = chance.randint(*ages)
    return start - dt.timedelta(days=round(age * 365.25) + chance.randint(10, 350))


def _write_families(children: Sequence[Child]) -> None:
    """One parent each; the first two children are siblings, the third signs in too, and the fifth
    is a coach's."""
    parent = User.objects.create_user(PARENT, name="Rosa Lindqvist", role=Role.GUARDIAN)
    coach = User.objects.get(email=COACH_AND_PARENT)
    known = {0: parent, 1: parent, COACHS_OWN: coach}
    others = {
        number: User(
            email=EXAMPLE_ADDRESS.format(number - 2),
            name=f"Parent of {child.given_name}",
            role=Role.GUARDIAN,
        )
        for number, child in enumerate(children)
        if number not in known
    }
    for user in others.values():
        user.set_unusable_password()
    User.objects.bulk_create(others.values())
    guardians = known | others
    Guardianship.objects.bulk_create(
        Guardianship(child=child, guardian=guardians[number])
        for number, child in enumerate(children)
    )
    if len(children) > 2:
        young = children[2]
        young.user = User.objects.create_user(ATHLETE, name=young.given_name, role=Role.ATHLETE)
        young.save(update_fields=["user"])


def write_homes(children: Sequence[Child], chance: random.Random) -> None:
    """What each family has said is at home; every eighth has not answered yet."""
    items = {item.slug: item for item in Item.objects.all()}
    answered = [child for number, child in enumerate(children) if number % 8 != 7]
    kits = HomeKit.objects.bulk_create(HomeKit(child=child) for child in answered)
    through = HomeKit.items.through
    through.objects.bulk_create(
        through(homekit_id=kit.pk, item_id=items[slug].pk)
        for number, kit in enumerate(kits)
        for slug in sorted(HOMES[(number + chance.randint(0, 1)) % len(HOMES)])
    )


SPORT: Final = (
    UsualSport(Decimal("4.5"), club=(2, 4), matches=(6,)),
    None,
    UsualSport(Decimal("1.5"), school=(3,)),
    UsualSport(),
    UsualSport(Decimal(6), school=(1,), club=(2, 4), matches=(7,)),
    None,
)
"""What families have said of sport elsewhere, in turn; None where nobody has answered."""
ABOVE_ITS_AGE: Final = 2
WITHOUT_A_DAY_OFF: Final = 8
"""The places in the club of the two children whose sport elsewhere is a lot."""


def write_sport(children: Sequence[Child], monday: dt.date, today: dt.date) -> None:
    """What each family has said of sport elsewhere from a Monday on."""
    said_at = timezone.make_aware(dt.datetime.combine(monday, dt.time(19)))
    said = {child: SPORT[number % len(SPORT)] for number, child in enumerate(children)}
    for child in children[ABOVE_ITS_AGE : ABOVE_ITS_AGE + 1]:
        hours = Decimal(child.age_on(today))
        said[child] = UsualSport(hours, school=(1,), club=(2, 4, 5), matches=(7,))
    for child in children[WITHOUT_A_DAY_OFF : WITHOUT_A_DAY_OFF + 1]:
        said[child] = UsualSport(Decimal(5), club=(1, 2, 3, 4, 5), matches=(6, 7))
    parents = {each.child_id: each.guardian_id for each in Guardianship.objects.all()}
    SportElsewhere.objects.bulk_create(
        SportElsewhere(
            child=child,
            since=monday,
            hours=usual.hours,
            school=[*usual.school],
            club=[*usual.club],
            matches=[*usual.matches],
            said_at=said_at,
            said_by_id=parents[child.pk],
        )
        for child, usual in said.items()
        if usual
    )


def write_placements(
    children: Sequence[Child], day: dt.date, by: User, chance: random.Random
) -> None:
    """Where each child stands on each pathway: further up with age, and not everywhere alike."""
    exercises = {exercise.slug: exercise for exercise in Exercise.objects.published()}
    pathways = {pathway.slug: pathway for pathway in Pathway.objects.all()}
    graphs = library_snapshot().fit.graphs
    placed_at = timezone.make_aware(dt.datetime.combine(day, dt.time(17)))
    Placement.objects.bulk_create(
        Placement(
            child=child,
            pathway=pathways[slug],
            exercise=exercises[_working_on(graph, child.age_on(day), chance)],
            placed_at=placed_at,
            placed_by=by,
            why="Seen at the first session.",
        )
        for number, child in enumerate(children)
        for slug, graph in sorted(graphs.items())
        if number % 9 != 8 or slug != "land"
    )


def write_way_so_far(children: Sequence[Child], day: dt.date, by: User) -> None:
    """Every third child has come up one place on some pathways, since four weeks before the day."""
    exercises = {exercise.slug: exercise for exercise in Exercise.objects.published()}
    graphs = library_snapshot().fit.graphs
    placed_at = timezone.make_aware(dt.datetime.combine(day - BEFORE, dt.time(17)))
    current = Placement.objects.current().filter(child__in=children[::3])
    rows = list(current.with_names().order_by("child", "pathway__slug"))[::4]
    for each in rows:
        graph, here = graphs[each.pathway.slug], each.exercise.slug
        below = (one for one in sorted(graph.members) if graph.rank(one) == graph.rank(here) - 1)
        before = exercises.get(next(below, ""))
        if before is None:
            continue
        Placement.objects.create(
            child_id=each.child_id,
            pathway=each.pathway,
            exercise=before,
            placed_at=placed_at,
            ended_at=each.placed_at,
            placed_by=by,
            why="Seen at the first session.",
        )
        each.why = "At ease, two sessions in a row."
        each.save(update_fields=["why"])


def _working_on(graph: PathwayGraph, age: int, chance: random.Random) -> str:
    top = max(graph.rank(member) for member in graph.members)
    share = min(1.0, max(0.15, (age - 3) / 10 + chance.gauss(0, 0.12)))
    wanted = round(share * top)
    level = [member for member in sorted(graph.members) if graph.rank(member) == wanted]
    return chance.choice(level)


def write_circumstances(children: Sequence[Child], today: dt.date, by: User) -> None:
    """A knee that is spared from landing, a wrist and a back from loading; two children on their
    way back, and one that grows fast. All in force today."""
    soon = today + dt.timedelta(days=10)
    since = today - dt.timedelta(days=3)
    rules = (
        (6, "knee", "left", "no_landing", "Sore after landings; seen by a physiotherapist."),
        (11, "wrist_hand", "right", "no_loading", "Sprained at school."),
        (16, "ankle", "right", "no_landing", "Rolled it last week."),
        (22, "lower_back", "both", "no_loading", "Waiting to hear from the doctor."),
    )
    Restriction.objects.bulk_create(
        Restriction(
            child=children[number],
            region=region,
            side=side,
            kind=kind,
            note=note,
            start=since,
            until=soon,
            set_by=by,
        )
        for number, region, side, kind, note in rules
        if number < len(children)
    )
    _write_ways_back(children, today, by)
    for child in children[13:14]:
        child.growing_fast_until = today + dt.timedelta(weeks=12)
        child.save(update_fields=["growing_fast_until"])


def _write_ways_back(children: Sequence[Child], today: dt.date, by: User) -> None:
    """A knee that gets easier exercises for now, and an ankle that gets half the dose."""
    steps = (
        (26, "knee", "right", ReturnStep.PAIN_FREE, 12, 9),
        (26, "knee", "right", ReturnStep.EASIER, 9, None),
        (31, "ankle", "left", ReturnStep.EASIER, 15, 8),
        (31, "ankle", "left", ReturnStep.HALF, 8, None),
    )
    WayBackStep.objects.bulk_create(
        WayBackStep(
            child=children[number],
            region=region,
            side=side,
            step=step.value,
            since=today - dt.timedelta(days=began),
            ended_on=today - dt.timedelta(days=ended) if ended else None,
            set_by=by,
        )
        for number, region, side, step, began, ended in steps
        if number < len(children)
    )
