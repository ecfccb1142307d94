from django.contrib import messages
from django.db import transaction
from django.db.models import Count
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from athletes import role_changes
from athletes.forms.people import AccessRulesForm, ChangeRoleForm, CohortForm, InviteCoachForm
from athletes.head_coaches import what_is_awaited
from athletes.mailing import origin_of
from athletes.models import AccessRules, Cohort, Invitation, Role, RoleChange, User
from athletes.models.children import enrolled_on
from athletes.second_factor import with_second_factor
from athletes.switching_off import StaysOn, switch_off, switch_on
from library.shared.access import Request, asks_again, for_head_coach, page_sent_from


@require_GET
@for_head_coach
def people(request: Request) -> HttpResponse:
    in_force = enrolled_on(timezone.localdate(), "enrolments__")
    context = {
        "coaches": User.objects.filter(role__in=[Role.HEAD_COACH, Role.COACH]).prefetch_related(
            "cohorts"
        ),
        "cohorts": Cohort.objects.visible_to(request.user)
        .annotate(size=Count("enrolments__child", filter=in_force, distinct=True))
        .order_by("youngest", "name")  # counting drops the model's own order
        .prefetch_related("coaches"),
        "with_second_factor": set(with_second_factor().values_list("pk", flat=True)),
    } | _what_waits(request.user)
    return render(request, "athletes/people.html", context)


def _what_waits(head_coach: User) -> dict[str, object]:
    """Invitations and changes of roles, each with whether it is this head coach's to agree to."""
    now = timezone.now()
    invitations = Invitation.objects.visible_to(head_coach).open_at(now).with_mail()
    changes = RoleChange.objects.visible_to(head_coach).waiting()
    return {
        "invitations": [
            (each, each.waits_for(head_coach, now))
            for each in invitations.select_related("invited_by")
        ],
        "role_changes": [
            (each, each.waits_for(head_coach, now))
            for each in changes.select_related("person", "asked_by")
        ],
    }


@require_http_methods(["GET", "POST"])
@for_head_coach
@asks_again
def invite_coach(request: Request) -> HttpResponse:
    form = InviteCoachForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        with transaction.atomic():
            invited = form.invite(request.user)
            if invited:
                role_changes.ask_about_invitation(invited[0], request.user, origin_of(request))
        if invited:
            messages.success(
                request, f"The invitation leaves once {what_is_awaited(request.user)}."
            )
            return redirect("athletes:people")
    return render(request, "athletes/invite_coach.html", {"form": form})


@require_POST
@for_head_coach
@asks_again
def agree_to_invitation(request: Request, pk: int) -> HttpResponse:
    """To somebody who is to coach, or to be a welfare officer."""
    now = timezone.now()
    invitations = Invitation.objects.visible_to(request.user).by_two().open_at(now)
    invitation = get_object_or_404(invitations, pk=pk)
    if role_changes.agree_to_invitation(invitation, request.user, now, origin_of(request)):
        messages.success(request, f"An invitation is on its way to {invitation.email}.")
    else:
        messages.warning(request, NOT_YOURS)
    return redirect("athletes:people")


NOT_YOURS = "It is decided already, or another head coach has to agree, or a day to go by."


@require_http_methods(["GET", "POST"])
@for_head_coach
@asks_again
def change_role(request: Request) -> HttpResponse:
    """Ask that somebody coach, lead, or do so no more."""
    about = {"person": request.GET.get("person")}
    form = ChangeRoleForm(request.POST or None, initial=about)
    if request.method == "POST" and form.is_valid():
        change = form.ask(request.user, origin_of(request))
        if change:
            messages.success(
                request, f"It is asked for, and holds once {what_is_awaited(request.user)}."
            )
            return redirect("athletes:people")
    status = 422 if form.errors else 200
    return render(request, "athletes/change_role.html", {"form": form}, status=status)


@require_POST
@for_head_coach
@asks_again
def agree_to_role(request: Request, pk: int) -> HttpResponse:
    change = get_object_or_404(RoleChange.objects.select_related("person"), pk=pk)
    if role_changes.agree(change, request.user, timezone.now(), origin_of(request)):
        messages.success(request, f"{change.person} is {change.get_role_display()} from now on.")
    else:
        messages.warning(request, NOT_YOURS)
    return redirect("athletes:people")


@require_POST
@for_head_coach
def take_back_role(request: Request, pk: int) -> HttpResponse:
    change = get_object_or_404(RoleChange.objects.select_related("person"), pk=pk)
    if role_changes.take_back(change, request.user, timezone.now(), origin_of(request)):
        messages.success(request, f"{change.person} stays {change.get_was_display()}.")
    else:
        messages.warning(request, "It is decided already.")
    return redirect("athletes:people")


@require_POST
@for_head_coach
def withdraw_invitation(request: Request, pk: int) -> HttpResponse:
    invitations = Invitation.objects.visible_to(request.user).unused().filter(pk=pk)
    invitation = get_object_or_404(invitations)
    invitations.withdraw(timezone.now())
    messages.success(request, f"The invitation to {invitation.email} no longer works.")
    return redirect("athletes:people")


@require_POST
@for_head_coach
@asks_again
def switch_person_off(request: Request, pk: int) -> HttpResponse:
    person = get_object_or_404(User, pk=pk)
    try:
        switch_off(person, request.user)
    except StaysOn as reason:
        messages.error(request, str(reason))
    else:
        messages.success(
            request,
            f"{person} is switched off and signed out everywhere. Their invitations and their "
            "calendar’s address no longer work.",
        )
    return redirect(page_sent_from(request) or "athletes:people")


@require_POST
@for_head_coach
@asks_again
def switch_person_on(request: Request, pk: int) -> HttpResponse:
    person = get_object_or_404(User, pk=pk)
    switch_on(person)
    messages.success(request, f"{person} is on again, and signs in by a code as before.")
    return redirect(page_sent_from(request) or "athletes:people")


@require_http_methods(["GET", "POST"])
@for_head_coach
def new_cohort(request: Request) -> HttpResponse:
    return _edit_cohort(request, Cohort())


@require_http_methods(["GET", "POST"])
@for_head_coach
def edit_cohort(request: Request, pk: int) -> HttpResponse:
    return _edit_cohort(request, get_object_or_404(Cohort.objects.visible_to(request.user), pk=pk))


def _edit_cohort(request: Request, cohort: Cohort) -> HttpResponse:
    # Whoever makes a cohort usually coaches it.
    initial = {} if cohort.pk else {"coaches": [request.user.pk]}
    form = CohortForm(request.POST or None, instance=cohort, initial=initial)
    if request.method == "POST" and form.is_valid():
        saved = form.save()
        messages.success(request, f"{saved.name} is saved.")
        return redirect("athletes:people")
    return render(request, "athletes/cohort_form.html", {"form": form, "cohort": cohort})


@require_http_methods(["GET", "POST"])
@for_head_coach
@asks_again
def access_rules(request: Request) -> HttpResponse:
    """What the program sets about who may look at what."""
    rules = AccessRules.objects.current()
    form = AccessRulesForm(request.POST or None, instance=rules)
    if request.method == "POST" and form.is_valid():
        AccessRules.objects.change(request.user, timezone.now(), **form.cleaned_data)
        messages.success(request, "Kept, and in force from now on.")
        return redirect("athletes:access_rules")
    status = 422 if form.errors else 200
    context = {"form": form, "rules": rules}
    return render(request, "athletes/access_rules.html", context, status=status)
