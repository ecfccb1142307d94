import uuid

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_POST

from athletes.models import Child, Cohort
from library.access import Request, for_coaches
from program.family_loaders import child_or_404
from program.loaders import cohorts_of
from program.models import PainReport
from program.returns import Return, Returns, effort_lane, of_child, unseen_of_child

A_PAGE = 30


@require_GET
@for_coaches
def review(request: Request) -> HttpResponse:
    """What came back, of all one's children or of a cohort (`?cohort=3`)."""
    today = timezone.localdate()
    cohorts = cohorts_of(request.user)
    cohort = _cohort_or_404(cohorts, request.GET.get("cohort", ""))
    children = Child.objects.visible_to(request.user)
    if cohort:
        children = children.enrolled_in(cohort, today)
    returns = Returns(request.user, children, today)
    page = Paginator(returns.logged, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "returns": returns,
        "page": page,
        "logs": [Return(session, today) for session in page],
        "cohorts": cohorts,
        "cohort": cohort,
    }
    return render(request, "program/review/review.html", context)


def _cohort_or_404(cohorts: list[Cohort], asked: str) -> Cohort | None:
    if not asked:
        return None
    found = next((cohort for cohort in cohorts if str(cohort.pk) == asked), None)
    if found is None:
        raise Http404
    return found


@require_GET
@for_coaches
def child_review(request: Request, child_id: uuid.UUID) -> HttpResponse:
    child = child_or_404(request.user, child_id)
    today = timezone.localdate()
    page = Paginator(of_child(request.user, child), A_PAGE).get_page(request.GET.get("page"))
    returns = [Return(session, today) for session in page]
    context = {
        "child": child,
        "age": child.age_on(today),
        "hurts": unseen_of_child(request.user, child),
        "page": page,
        "returns": returns,
        "effort": effort_lane(returns),
    }
    return render(request, "program/review/child.html", context)


@require_POST
@for_coaches
def pain_seen(request: Request, report_id: uuid.UUID) -> HttpResponse:
    """A coach has seen a report; who saw it first, and when, is kept."""
    reports = PainReport.objects.visible_to(request.user).filter(public_id=report_id)
    report = reports.select_related("child").first()
    if report is None:
        raise Http404
    if reports.mark_seen(request.user, timezone.now()):
        messages.success(
            request, f"Seen: {report.child.given_name}, {report.get_region_display()}."
        )
    back = request.POST.get("back", "")
    if back.startswith("/") and url_has_allowed_host_and_scheme(back, allowed_hosts=None):
        return HttpResponseRedirect(back)
    return redirect("program:review")
