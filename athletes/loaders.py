"""Fetching and authorising are one call: what a person may not see is as missing as what is not.

A second id in an address is looked up through the first.
"""

import uuid
from typing import TYPE_CHECKING

from django.http import Http404
from django.utils import timezone

from athletes.models import (
    Child,
    Cohort,
    Enrolment,
    Guardianship,
    ImportDraft,
    Invitation,
    Restriction,
)
from library.models import Pathway

if TYPE_CHECKING:
    from athletes.models import User


def child_or_404(user: "User", public_id: uuid.UUID) -> Child:
    children = Child.objects.visible_to(user).select_related("user")
    return _found(children.filter(public_id=public_id).first())


def cohort_or_404(user: "User", cohort_id: int) -> Cohort:
    return _found(Cohort.objects.visible_to(user).filter(pk=cohort_id).first())


def enrolment_in_or_404(user: "User", child: Child, enrolment_id: int) -> Enrolment:
    """An enrolment of the child in a cohort that is this coach's too."""
    enrolments = child.enrolments.filter(cohort__in=Cohort.objects.visible_to(user))
    return _found(enrolments.select_related("cohort").filter(pk=enrolment_id).first())


def guardianship_in_or_404(child: Child, guardianship_id: int) -> Guardianship:
    guardianships = child.guardianships.select_related("guardian")
    return _found(guardianships.filter(pk=guardianship_id).first())


def invitation_in_or_404(child: Child, invitation_id: int) -> Invitation:
    """An invitation concerning this child that nobody has used yet."""
    invitations = Invitation.objects.filter(child=child, used_at__isnull=True)
    return _found(invitations.filter(pk=invitation_id).first())


def restriction_in_or_404(child: Child, restriction_id: int) -> Restriction:
    return _found(child.restrictions.filter(pk=restriction_id).first())


def draft_or_404(user: "User", public_id: uuid.UUID) -> ImportDraft:
    drafts = ImportDraft.objects.visible_to(user).fresh(timezone.now()).select_related("cohort")
    return _found(drafts.filter(public_id=public_id).first())


def pathway_or_404(slug: str) -> Pathway:
    return _found(Pathway.objects.with_graph().filter(slug=slug).first())


def _found[Row](row: Row | None) -> Row:
    if row is None:
        raise Http404
    return row
