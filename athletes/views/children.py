import datetime as dt
import uuid
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from athletes.children_list import WITHOUT, Wanted, list_children
from athletes.consents import in_words, questions_about
from athletes.forms.children import ChildForm, NewChildForm
from athletes.health_views import looked_at
from athletes.importing.drafts import ask_for_one
from athletes.importing_mail import answer_asked
from athletes.loaders import coached_child_or_404, coached_child_with_answers_or_404
from athletes.models import (
    Child,
    Cohort,
    HomeKit,
    ImportDraft,
    Invitation,
    User,
)
from athletes.second_factor import with_second_factor
from library.shared.access import Request, for_coaches
from library.shared.ids import whole_number


@require_http_methods(["GET", "POST"])
@for_coaches
def children_list(request: Request) -> HttpResponse:
    """The list; a name that is looked for is posted, because no address tells a child's name."""
    cohorts = list(Cohort.objects.visible_to(request.user))
    wanted = _wanted(request, cohorts)
    found = list_children(
        request.user, cohorts, wanted, request.GET.get("page"), timezone.localdate()
    )
    looked_at(request, *found.told_of)
    asked = ImportDraft.objects.visible_to(request.user).waiting(timezone.now())
    context = {
        "cohorts": cohorts,
        "wanted": wanted,
        "without": WITHOUT,
        "found": found,
        "asked": asked.select_related("owner"),
    }
    part = "#found" if request.htmx else ""
    answer = render(request, f"athletes/children.html{part}", context)
    answer.headers["Vary"] = "HX-Request"
    return answer


def _wanted(request: Request, cohorts: list[Cohort]) -> Wanted:
    cohort = request.GET.get("cohort", "")
    known = {str(each.pk) for each in cohorts} | {WITHOUT}
    words = request.POST.get("q", "").replace("\0", "").strip()[:60]
    return Wanted(words, cohort if cohort in known else "")


@require_http_methods(["GET", "POST"])
@for_coaches
def new_child(request: Request) -> HttpResponse:
    cohorts = Cohort.objects.visible_to(request.user)
    initial = _first_cohort(request)
    form = NewChildForm(request.POST or None, by=request.user, cohorts=cohorts, initial=initial)
    if request.method == "POST" and form.is_valid():
        if not request.user.may_add_children:
            return _asked(request, form)
        child = form.save_once()
        if child:
            messages.success(request, f"{child} is here. Invite a parent or guardian next.")
            return redirect("athletes:child", child.public_id)
    return render(request, "athletes/child_form.html", {"form": form})


@transaction.atomic
def _asked(request: Request, form: NewChildForm) -> HttpResponse:
    draft = ask_for_one(form.described(), request.user, timezone.now())
    return answer_asked(request, draft, 1)


def _first_cohort(request: Request) -> dict[str, int]:
    cohort = whole_number(request.GET.get("cohort"))
    return {} if cohort is None else {"cohort": cohort}


@require_http_methods(["GET", "POST"])
@for_coaches
def edit_child(request: Request, public_id: uuid.UUID) -> HttpResponse:
    child = coached_child_or_404(request.user, public_id)
    form = ChildForm(request.POST or None, instance=child, by=request.user)
    if request.method == "POST" and form.is_valid() and form.save_once():
        messages.success(request, f"{child} is saved.")
        return redirect("program:child_review", child.public_id)
    shown = coached_child_or_404(request.user, public_id) if form.errors else child
    return render(request, "athletes/child_form.html", {"form": form, "child": shown})


@require_GET
@for_coaches
def child_page(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """A child's home and people; what it does and how it is stands on the page of its review."""
    child = coached_child_with_answers_or_404(request.user, public_id)
    today = timezone.localdate()
    answers = questions_about(child, request.user, today).answers
    context = {
        "child": child,
        "age": child.age_on(today),
        "answers": answers,
        "agreed": in_words(answers),
        "kit": HomeKit.objects.filter(child=child).with_items().first(),
        "guardianships": child.guardianships.select_related("guardian"),
        "may_be_reset": _may_be_reset(request, child),
        "invitations": Invitation.objects.open_at(timezone.now()).with_mail().filter(child=child),
        **_enrolments(request, child, today),
    }
    return render(request, "athletes/child.html", context)


def _may_be_reset(request: Request, child: Child) -> "QuerySet[User]":
    """Who of the family has a second way to sign in, for a head coach, who can take it off."""
    family = Child.objects.filter(pk=child.pk).family()
    having = with_second_factor().filter(pk__in=family.values("pk"))
    return having if request.user.is_head_coach else having.none()


def _enrolments(request: Request, child: Child, today: dt.date) -> dict[str, Any]:
    own = set(Cohort.objects.visible_to(request.user).values_list("pk", flat=True))
    enrolments = list(child.enrolments.select_related("cohort"))
    running = [each for each in enrolments if each.end is None or each.end >= today]
    return {
        "running": running,
        "cohorts_in_words": ", ".join(str(each.cohort) for each in running) or "in no cohort now",
        "past": [each for each in enrolments if each not in running],
        "own_cohorts": own,
        "can_withdraw": any(each.cohort_id in own for each in running),
    }
