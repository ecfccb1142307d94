"""A child's cohorts, and the people of the family."""

import uuid

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.consents import remove_guardian as take_out
from athletes.forms.membership import EnrolForm, InviteFamilyForm, LastDayForm
from athletes.invitation_mail import mail_family_invitation
from athletes.loaders import (
    coached_child_or_404,
    enrolment_in_or_404,
    guardianship_in_or_404,
    invitation_in_or_404,
)
from athletes.models import Child, Cohort, Enrolment, Invitation
from library.shared.access import Request, asks_again, for_coaches, for_head_coach


@require_http_methods(["GET", "POST"])
@for_coaches
def enrol_child(request: Request, public_id: uuid.UUID) -> HttpResponse:
    child = coached_child_or_404(request.user, public_id)
    form = EnrolForm(
        request.POST or None, child=child, cohorts=Cohort.objects.visible_to(request.user)
    )
    if request.method == "POST" and form.is_valid():
        enrolment = form.enrol()
        if enrolment:
            messages.success(request, f"{child} trains in {enrolment.cohort}.")
            return redirect("athletes:child", child.public_id)
    return render(request, "athletes/enrol.html", {"child": child, "form": form})


@require_http_methods(["GET", "POST"])
@for_coaches
def end_enrolment(request: Request, public_id: uuid.UUID, pk: int) -> HttpResponse:
    child = coached_child_or_404(request.user, public_id)
    return _leave(request, child, [enrolment_in_or_404(request.user, child, pk)])


@require_http_methods(["GET", "POST"])
@for_coaches
def withdraw_child(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """Out of every cohort of this coach's; the head coach's are all."""
    child = coached_child_or_404(request.user, public_id)
    own = Cohort.objects.visible_to(request.user)
    running = Enrolment.objects.filter(child=child, cohort__in=own).running_after(
        timezone.localdate()
    )
    return _leave(request, child, list(running.select_related("cohort")), from_all=True)


def _leave(
    request: Request, child: Child, enrolments: list[Enrolment], *, from_all: bool = False
) -> HttpResponse:
    form = LastDayForm(request.POST or None, enrolments=enrolments)
    if request.method == "POST" and form.is_valid():
        left = form.withdraw(child)
        names = " and ".join(cohort.name for cohort in left)
        messages.success(
            request, f"{child} leaves {names}." if left else "Nothing was left to end."
        )
        if not Child.objects.coached_by(request.user).contains(child):
            return redirect("athletes:children")
        return redirect("athletes:child", child.public_id)
    context = {"child": child, "form": form, "enrolments": enrolments, "from_all": from_all}
    return render(request, "athletes/leave.html", context)


@require_http_methods(["GET", "POST"])
@for_coaches
@asks_again
def invite_family(request: Request, public_id: uuid.UUID) -> HttpResponse:
    child = coached_child_or_404(request.user, public_id)
    form = InviteFamilyForm(request.POST or None, child=child, by=request.user)
    if request.method == "POST" and form.is_valid():
        with transaction.atomic():
            invited = form.invite()
            if invited:
                mail_family_invitation(request, *invited)
        if invited:
            messages.success(request, _what_was_sent(invited[0], child))
            return redirect("athletes:child", child.public_id)
    return render(request, "athletes/invite_family.html", {"child": child, "form": form})


def _what_was_sent(invitation: Invitation, child: Child) -> str:
    if invitation.waits_for_agreement:
        return f"The parents are asked whether {child.given_name} may sign in."
    return f"An invitation is on its way to {invitation.email}."


@require_POST
@for_coaches
def withdraw_family_invitation(request: Request, public_id: uuid.UUID, pk: int) -> HttpResponse:
    child = coached_child_or_404(request.user, public_id)
    invitation = invitation_in_or_404(child, pk)
    Invitation.objects.filter(pk=invitation.pk).withdraw(timezone.now())
    messages.success(request, f"The invitation to {invitation.email} no longer works.")
    return redirect("athletes:child", child.public_id)


@require_http_methods(["GET", "POST"])
@for_head_coach
def remove_guardian(request: Request, public_id: uuid.UUID, pk: int) -> HttpResponse:
    """What removing a guardian takes back, and whom that person let in, who stay."""
    child = coached_child_or_404(request.user, public_id)
    guardianship = guardianship_in_or_404(child, pk)
    if request.method == "POST":
        take_out(guardianship, timezone.localdate())
        messages.success(request, f"{guardianship.guardian} no longer sees {child}.")
        return redirect("athletes:child", child.public_id)
    sent = Invitation.objects.filter(child=child, invited_by=guardianship.guardian)
    context = {
        "child": child,
        "guardian": guardianship.guardian,
        "waiting": sent.open_at(timezone.now()),
        "let_in": child.guardianships.let_in_by(guardianship).select_related("guardian"),
    }
    return render(request, "athletes/remove_guardian.html", context)
