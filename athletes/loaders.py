"""Fetching and authorising are one call: what a person may not see is as missing as what is not.

A second id in an address is looked up through the first.
"""

import datetime as dt
import uuid
from collections.abc import Collection
from typing import Any

from django.db.models import Q
from django.shortcuts import get_object_or_404
from django.utils import timezone

from athletes.consents import with_answers
from athletes.models import (
    Child,
    Cohort,
    Enrolment,
    GrowthMeasurement,
    Guardianship,
    ImportDraft,
    Invitation,
    Restriction,
    Role,
    User,
)
from library.models import Pathway


def families_of(children: Collection[int]) -> list[tuple[User, int]]:
    """To whom of the families a mail about these children, by key, goes, each with the child: what
    `Child.family_told` says of one. In two queries."""
    reading = Guardianship.objects.reading().filter(child__in=children)
    people = [(each.guardian, each.child_id) for each in reading.select_related("guardian")]
    grown = Child.objects.filter(pk__in=children).select_related("user")
    return people + [(each.user, each.pk) for each in grown if each.user and each.has_taken_over()]


def child_or_404(user: User, public_id: uuid.UUID) -> Child:
    children = Child.objects.visible_to(user).select_related("user")
    return get_object_or_404(children, public_id=public_id)


def coached_child_or_404(user: User, public_id: uuid.UUID) -> Child:
    """The child, for whoever coaches it: to its family, who may coach others, it is missing."""
    children = Child.objects.visible_to(user).coached_by(user)
    return get_object_or_404(children.select_related("user"), public_id=public_id)


def coached_child_with_answers_or_404(user: User, public_id: uuid.UUID) -> Child:
    """The same, of which `questions_about` then knows without a query."""
    children = with_answers(Child.objects.visible_to(user).coached_by(user))
    return get_object_or_404(children, public_id=public_id)


def child_with_answers_or_404(user: User, public_id: uuid.UUID, **also: Any) -> Child:
    """The child, of which `questions_about` then knows without a query; `also` is annotated."""
    children = with_answers(Child.objects.visible_to(user)).annotate(**also)
    return get_object_or_404(children, public_id=public_id)


def own_child_or_404(user: User, public_id: uuid.UUID) -> Child:
    """The child, for whoever decides for it as family, and nobody else."""
    children = Child.objects.visible_to(user).decided_by(user)
    return get_object_or_404(children.select_related("user"), public_id=public_id)


def child_for_adults_or_404(user: User, public_id: uuid.UUID) -> Child:
    """The child, for its coaches and whoever decides for it; a minor's own sign-in is narrower."""
    return child_or_404(user, public_id) if user.is_coach else own_child_or_404(user, public_id)


def cohort_or_404(user: User, cohort_id: int) -> Cohort:
    return get_object_or_404(Cohort.objects.visible_to(user), pk=cohort_id)


def enrolment_in_or_404(user: User, child: Child, enrolment_id: int) -> Enrolment:
    """An enrolment of the child in a cohort that is this coach's too."""
    enrolments = child.enrolments.filter(cohort__in=Cohort.objects.visible_to(user))
    return get_object_or_404(enrolments.select_related("cohort"), pk=enrolment_id)


def guardianship_in_or_404(child: Child, guardianship_id: int) -> Guardianship:
    guardianships = child.guardianships.select_related("guardian")
    return get_object_or_404(guardianships, pk=guardianship_id)


def invitation_in_or_404(child: Child, invitation_id: int) -> Invitation:
    """An invitation concerning this child that nobody has used or withdrawn yet."""
    invitations = Invitation.objects.unused().filter(child=child)
    return get_object_or_404(invitations, pk=invitation_id)


def restriction_in_or_404(child: Child, restriction_id: int) -> Restriction:
    return get_object_or_404(child.restrictions, pk=restriction_id)


def measurement_in_or_404(user: User, child: Child, measurement_id: int) -> GrowthMeasurement:
    measurements = GrowthMeasurement.objects.visible_to(user).filter(child=child)
    return get_object_or_404(measurements, pk=measurement_id)


def draft_or_404(user: User, public_id: uuid.UUID) -> ImportDraft:
    drafts = ImportDraft.objects.visible_to(user).fresh(timezone.now())
    drafts = drafts.select_related("cohort", "owner")
    return get_object_or_404(drafts, public_id=public_id)


def pathway_or_404(slug: str) -> Pathway:
    return get_object_or_404(Pathway.objects.with_graph(), slug=slug)


def children_of(user: User) -> list[Child]:
    """The children this person belongs to as family, which is not all that a coach may see."""
    return list(Child.objects.of_family(user))


def coaches_of(child: Child, day: dt.date) -> list[User]:
    """The active coaches of its cohorts, and the head coaches."""
    running = child.enrolments.in_force(day).values("cohort")
    coaching = Q(cohorts__in=running, role=Role.COACH) | Q(role=Role.HEAD_COACH)
    return list(User.objects.filter(coaching, is_active=True).distinct())


def is_family_of(user: User, child: Child) -> bool:
    """Whether this person says what they say of the child as its family. One query."""
    return bool(Child.objects.of_family(user).contains(child))
