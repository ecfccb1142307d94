import datetime as dt

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from athletes.health_views import looked_at
from library.shared.access import (
    Request,
    for_coaches,
    for_signed_in,
    second_factor_wanted_by,
)
from program.common.fields import FIRST_DAY, LAST_DAY
from program.engine.weeks import monday_of
from program.week.late_work import late_work
from program.week.page import week_of


@require_GET
@for_signed_in
def home(request: Request) -> HttpResponse:
    """Everyone's own first page: a coach's week, a family's children."""
    return redirect("program:week" if request.user.is_coach else "program:family")


@require_GET
@for_coaches
def this_week(request: Request) -> HttpResponse:
    """The week of the day asked for with `of`, else the running one."""
    today = timezone.localdate()
    week = week_of(request.user, _monday(request.GET.get("of", ""), today), today)
    looked_at(request, *week.told_of)
    context = {
        "week": week,
        "late_work": late_work(request.user, timezone.now()),
        "second_factor_by": second_factor_wanted_by(request),
    }
    return render(request, "program/week/week.html", context)


def _monday(asked: str, today: dt.date) -> dt.date:
    try:
        day = dt.date.fromisoformat(asked)
    except ValueError:
        day = today
    if not FIRST_DAY <= day <= LAST_DAY:
        day = today
    return monday_of(day)
