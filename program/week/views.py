import datetime as dt

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.views.decorators.http import require_GET, require_POST

from athletes.health_views import looked_at
from athletes.mailing import origin_of
from library.shared.access import (
    Request,
    for_coaches,
    for_signed_in,
    second_factor_wanted_by,
)
from library.shared.dates import short_weekday_and_date
from program.common.fields import FIRST_DAY, LAST_DAY
from program.engine.checks import RULES
from program.engine.weeks import monday_of
from program.engine.wording import plural
from program.models import Session
from program.publish.several import Attempt, publish_each
from program.week.ahead import usual_week, week_ahead_of
from program.week.first_steps import first_steps
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
    week = week_of(request.user, _monday(request.GET, monday_of(today)), today)
    looked_at(request, *week.told_of)
    context = {
        "week": week,
        "late_work": late_work(request.user, timezone.now()),
        "first_steps": first_steps(request.user, today, week.enrolled) if week.is_now else None,
        "second_factor_by": second_factor_wanted_by(request),
    }
    return render(request, "program/week/week.html", context)


@require_GET
@for_coaches
def week_ahead(request: Request) -> HttpResponse:
    """The week asked for with `of`, else the one a coach thinks of today, cohort by cohort."""
    today = timezone.localdate()
    ahead = week_ahead_of(request.user, _monday(request.GET, usual_week(today)), today)
    looked_at(request, *ahead.told_of)
    return render(request, "program/week/ahead.html", {"ahead": ahead})


@require_POST
@for_coaches
def publish_ahead(request: Request) -> HttpResponse:
    """Publish the sessions of a week that were `seen` to be ready, each by its mark, and name what
    was not sent, and why."""
    today = timezone.localdate()
    ahead = week_ahead_of(request.user, _monday(request.POST, usual_week(today)), today)
    back = redirect(f"{reverse('program:week_ahead')}?of={ahead.monday}")
    seen, ready = request.POST.getlist("seen"), ahead.marks
    if not seen or not ready.keys() >= set(seen):
        said = "Somebody changed this week since you opened it. Nothing was published."
        messages.warning(request, f"{said} Look at it as it is now, then publish.")
        return back
    sessions = [ready[mark] for mark in seen]
    attempts = publish_each(sessions, request.user, timezone.now(), origin_of(request))
    for attempt in attempts:
        _tell_of(request, attempt)
    if out := sum(each.done is not None for each in attempts):
        messages.success(request, f"Published: {plural(out, 'session')}.")
    return back


def _tell_of(request: Request, attempt: Attempt) -> None:
    """Where a session did not go out, or not to everybody: why, and the way to it."""
    session, done = attempt.session, attempt.done
    name = f"{session}, {short_weekday_and_date(session.date)}"
    if done is None:
        _warn(request, f"{name}: {attempt.why}", "program:build", session, "Open the session")
        return
    if done.held:
        missing = plural(done.held, "child", "children")
        told = f"{name}: {missing} did not get it."
        _warn(request, told, "program:who_gets_what", session, "Decide", "?different")
    for each in done.said_again:
        messages.warning(
            request, f"{name}: {RULES[each.code].title} is switched off here. {each.sentence}"
        )


def _warn(
    request: Request, told: str, page: str, session: Session, action: str, query: str = ""
) -> None:
    url = reverse(page, args=[session.pk]) + query
    messages.warning(request, format_html('{} <a href="{}">{}</a>', told, url, action))


def _monday(sent: QueryDict, usual: dt.date) -> dt.date:
    """Of the week asked for with `of`."""
    try:
        day = dt.date.fromisoformat(sent.get("of", ""))
    except ValueError:
        day = usual
    if not FIRST_DAY <= day <= LAST_DAY:
        day = usual
    return monday_of(day)
