"""The coach's list of children: one row per child and cohort, in the cohorts' order."""

import datetime as dt
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from django.core.paginator import Page, Paginator
from django.db.models import Case, F, FilteredRelation, Prefetch, Q, When
from django.utils import timezone

from athletes.family_state import FamilyState, family_state
from athletes.models import Child, ChildQuerySet, Cohort, Restriction, User
from athletes.models.children import enrolled_on

PER_PAGE = 100
WITHOUT = "without"


@dataclass(frozen=True)
class Wanted:
    """What is looked for: words of a name, and a cohort's id, `WITHOUT` one, or "" for all."""

    words: str = ""
    cohort: str = ""


FAMILIES: Final = {
    FamilyState.HERE: "family signed in",
    FamilyState.INVITED: "invited, not signed in",
    FamilyState.UNDELIVERED: "invitation not delivered",
    FamilyState.RUN_OUT: "invitation ran out",
    FamilyState.NOT_INVITED: "not invited yet",
}


@dataclass(frozen=True)
class ListedChild:
    child: Child
    age: int
    family: FamilyState
    has_kit: bool
    restrictions: Sequence[Restriction]
    grows_fast: bool

    @property
    def family_in_words(self) -> str:
        return FAMILIES[self.family]

    @property
    def wants_invitation(self) -> bool:
        """Whether somebody has to invite the family, for the first time or again."""
        return self.family not in {FamilyState.HERE, FamilyState.INVITED}


@dataclass(frozen=True)
class Group:
    """The children of one cohort; None for those in no cohort of this coach's."""

    cohort: Cohort | None
    children: Sequence[ListedChild]


@dataclass(frozen=True)
class ChildrenList:
    groups: Sequence[Group]
    page: Page[Child]

    @property
    def told_of(self) -> list[Child]:
        """Those of whom it says what is spared, or that they grow fast."""
        rows = (row for group in self.groups for row in group.children)
        return [row.child for row in rows if row.restrictions or row.grows_fast]


def list_children(
    user: User, cohorts: Collection[Cohort], wanted: Wanted, page: str | None, today: dt.date
) -> ChildrenList:
    """A page of the children whom the user coaches, in three queries however many there are."""
    children = Child.objects.visible_to(user).coached_by(user)
    found = _with_facts(_in_cohorts(children, cohorts, today), today)
    shown = Paginator(_only(found, wanted), PER_PAGE).get_page(page)
    by_id = {cohort.pk: cohort for cohort in cohorts}
    return ChildrenList(list(_groups(shown, by_id, today)), shown)


def _in_cohorts(
    children: ChildQuerySet, cohorts: Collection[Cohort], day: dt.date
) -> ChildQuerySet:
    """One row for each of these cohorts a child is in on the day; one without a cohort if none."""
    here = Q(enrolments__cohort__in=[cohort.pk for cohort in cohorts])
    now = FilteredRelation("enrolments", condition=enrolled_on(day, "enrolments__") & here)
    order = Case(
        *(When(now__cohort=cohort.pk, then=place) for place, cohort in enumerate(cohorts)),
        default=len(cohorts),
    )
    return (
        children.alias(now=now)
        .annotate(cohort_id_now=F("now__cohort"))
        .order_by(order, "given_name", "family_initial", "pk")
    )


def _with_facts(children: ChildQuerySet, day: dt.date) -> ChildQuerySet:
    return children.annotate(
        family=family_state(timezone.now(), child=""),
        has_kit=Q(home_kit__isnull=False),
    ).prefetch_related(
        Prefetch("restrictions", Restriction.objects.in_force(day), to_attr="in_force")
    )


def _only(children: ChildQuerySet, wanted: Wanted) -> ChildQuerySet:
    if wanted.cohort == WITHOUT:
        children = children.filter(Q(cohort_id_now__isnull=True))
    elif wanted.cohort:
        children = children.filter(Q(cohort_id_now=int(wanted.cohort)))
    elif not wanted.words:
        children = children.filter(Q(cohort_id_now__isnull=False))
    for word in wanted.words.split():
        of_name = Q(given_name__icontains=word)
        of_family = Q(family_initial__iexact=word.removesuffix("."))
        children = children.filter(of_name | of_family)
    return children


def _groups(page: Page[Child], cohorts: dict[int, Cohort], day: dt.date) -> Iterator[Group]:
    for cohort_id, children in groupby(page, key=lambda child: child.cohort_id_now):  # type: ignore[attr-defined]
        yield Group(cohorts.get(cohort_id), [_listed(child, day) for child in children])


def _listed(child: Child, day: dt.date) -> ListedChild:
    return ListedChild(
        child=child,
        age=child.age_on(day),
        family=FamilyState(child.family),  # type: ignore[attr-defined]
        has_kit=child.has_kit,  # type: ignore[attr-defined]
        restrictions=child.in_force,  # type: ignore[attr-defined]
        grows_fast=child.grows_fast_on(day),
    )
