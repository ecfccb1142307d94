import datetime as dt
import uuid

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from athletes.consents import Questions, questions_about
from athletes.family_frame import account_frame, family_frame, family_page, own_children
from athletes.health_views import looked_at
from athletes.invitation_mail import mail_family_invitation
from athletes.loaders import child_with_answers_or_404, own_child_or_404
from athletes.models import Child, Invitation
from library.shared.access import Request, asks_again, for_signed_in, for_whoever_may_decide
from program.common.addresses import address
from program.common.loaders import assigned_or_404, notes_on
from program.common.sport import said_of_week, with_sport
from program.engine.weeks import monday_of
from program.family.answers_and_reports import Unread, unread_of
from program.family.day_page import (
    FamilyWeek,
    SessionPage,
    WaitingSession,
    lines,
    spared_now,
    taken_back_in,
)
from program.family.forms import InviteGuardianForm
from program.family.loaders import due_next, sessions_of, spared_on, waiting_for_coach
from program.family.praise import praise_of
from program.family.sport import PUT_OFF, WeekSport
from program.fit.held_back import is_held_back
from program.models import AssignedSession, PainReport


@require_GET
@for_signed_in
def children(request: Request) -> HttpResponse:
    family = own_children(request)
    if len(family) == 1:
        return redirect("program:child_day", family[0].public_id)
    today = timezone.localdate()
    due = due_next(request.user, family, today)
    unread = unread_of(request.user, family)
    rows = [
        (
            child,
            lines([due[child.pk]], child, today) if child.pk in due else [],
            unread.get(child.pk, []),
        )
        for child in family
    ]
    frame = family_frame() if family else account_frame(request.user)
    context = {"rows": rows, "today": today}
    return render(request, "program/family/children.html", context | frame)


@require_GET
@for_signed_in
def child_day(request: Request, child_id: uuid.UUID) -> HttpResponse:
    """What a child does today, or on the day asked for as `?day=2026-11-02`."""
    today = timezone.localdate()
    day = _day_or_404(request.GET.get("day", today.isoformat()))
    child = child_with_answers_or_404(request.user, child_id, **with_sport(monday_of(day)))
    looked_at(request, child)
    asked = questions_about(child, request.user, today)
    if asked.is_first_visit:
        return redirect("athletes:consents", child.public_id)
    week = _week(request, child, day, asked)
    due = week.on(day)
    if due:
        shown = assigned_or_404(request.user, child_id, due.public_id)
        return _day_page(request, child, week, shown, asked)
    later = sessions_of(request.user, child).taking_place()
    ahead = later.filter(date__gt=max(day, today))[:1]
    context = {"day": day, "week": week, "others": week.others(None), "asked": asked}
    context["spared_now"] = spared_now(*spared_on(request.user, child, day))
    context["unanswered"] = PainReport.objects.unanswered().about([child])
    context["praise"] = praise_of(request.user, child, timezone.now())
    context["decides"] = asked.may_answer
    context["ahead"] = lines(ahead, child, today) if day >= today else []
    context["unread"] = _unread(request, child)
    return family_page(request, "program/family/free_day.html", child, context)


def _day_or_404(text: str) -> dt.date:
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        raise Http404 from None
    if not 2000 <= day.year < 2100:
        raise Http404
    return day


def _week(request: Request, child: Child, day: dt.date, asked: Questions) -> FamilyWeek:
    monday, today = monday_of(day), timezone.localdate()
    sessions = tuple(sessions_of(request.user, child).in_week(monday))
    waiting = tuple(map(WaitingSession.of, waiting_for_coach(child, monday, today)))
    sport = _sport(request, child, monday, asked) if _may_say(request, asked) else None
    return FamilyWeek(child, monday, today, sessions, waiting, sport)


def _sport(request: Request, child: Child, monday: dt.date, asked: Questions) -> WeekSport:
    today = timezone.localdate()
    until = request.session.get(PUT_OFF, {}).get(str(child.public_id), "")
    may_be_asked = asked.may_answer and today.isoformat() >= until
    said = said_of_week(child, monday)
    return WeekSport(child, monday, today, said, may_be_asked)


def _may_say(request: Request, asked: Questions) -> bool:
    """Whether this person says what is at home and what sport there is elsewhere."""
    return request.user.is_coach or asked.may_answer


def _unread(request: Request, child: Child) -> list[Unread]:
    return unread_of(request.user, [child]).get(child.pk, [])


@require_GET
@for_signed_in
def session_day(request: Request, child_id: uuid.UUID, assigned_id: uuid.UUID) -> HttpResponse:
    shown = assigned_or_404(request.user, child_id, assigned_id)
    looked_at(request, shown.child)
    today = timezone.localdate()
    asked = questions_about(shown.child, request.user, today)
    if asked.is_first_visit:
        return redirect("athletes:consents", child_id)
    week = _week(request, shown.child, shown.date, asked)
    return _day_page(request, shown.child, week, shown, asked)


def _day_page(
    request: Request, child: Child, week: FamilyWeek, shown: AssignedSession, asked: Questions
) -> HttpResponse:
    if shown.is_called_off:
        off = {
            "session": shown,
            "week": week,
            "others": week.others(shown),
            "asked": asked,
            "unread": _unread(request, child),
        }
        return family_page(request, "program/family/called_off.html", child, off)
    unanswered = list(PainReport.objects.unanswered().about([child]))
    log = getattr(shown, "completion", None)
    rules, steps = spared_on(request.user, child, shown.date)
    waits = log is None and is_held_back(unanswered, rules)
    if shown.is_closed or waits:
        closed = {
            "session": shown,
            "week": week,
            "others": week.others(shown),
            "unanswered": unanswered,
            "is_held_back": waits,
            "spared_now": spared_now(rules, steps),
            "taken_back": taken_back_in(shown),
            "is_past": shown.date < week.today,
            "asked": asked,
            "unread": _unread(request, child),
        }
        return family_page(request, "program/family/closed.html", child, closed)
    context = {
        "session": shown,
        "asked": asked,
        "page": SessionPage(shown),
        "log": log,
        "has_another_log": week.has_another_log(shown),
        "is_overdue": log is None and shown.date < week.today,
        "reports": shown.pain_reports.all(),
        "spared_now": spared_now(rules, steps),
        "elsewhere": [each for each in unanswered if each.assigned_session_id != shown.pk],
        "week": week,
        "others": week.others(shown),
        "praise": praise_of(request.user, child, timezone.now()),
        "place_in_week": week.place_of(shown),
        "decides": asked.may_answer,
        "unread": _unread(request, child),
        "may_say_kit": _may_say(request, asked),
    }
    return family_page(request, "program/family/day.html", child, context)


@require_GET
@for_signed_in
def read(request: Request, child_id: uuid.UUID, assigned_id: uuid.UUID) -> HttpResponse:
    session = assigned_or_404(request.user, child_id, assigned_id)
    looked_at(request, session.child)
    if not session.may_be_done:
        return redirect(address(session, session.child))
    context = {
        "session": session,
        "page": SessionPage(session, notes_on(session)),
        "unanswered": PainReport.objects.unanswered().about([session.child]),
    }
    return family_page(request, "program/family/read.html", session.child, context)


@require_http_methods(["GET", "POST"])
@for_whoever_may_decide
@asks_again
def invite(request: Request, child_id: uuid.UUID) -> HttpResponse:
    """Whoever decides for a child invites another guardian. Asked twice for one address, one
    invitation is sent."""
    child = own_child_or_404(request.user, child_id)
    guardians = list(child.guardians.all())
    form = InviteGuardianForm({each.email.lower() for each in guardians}, request.POST or None)
    sent = Invitation.objects.visible_to(request.user).open_at(timezone.now())
    waiting = sent.with_mail().filter(child=child)
    if request.method == "POST" and form.is_valid():
        email = form.cleaned_data["email"]
        if waiting.filter(email=email).exists() or _invited(request, form, child):
            messages.success(request, f"An invitation is on its way to {email}.")
            return redirect("program:invite_guardian", child.public_id)
    context = {"form": form, "guardians": guardians, "waiting": waiting}
    return family_page(request, "program/family/invite.html", child, context)


@transaction.atomic
def _invited(request: Request, form: InviteGuardianForm, child: Child) -> bool:
    """False, with the error at the field, where that would be too many."""
    invited = form.invite(request.user, child)
    if invited:
        mail_family_invitation(request, *invited)
    return invited is not None
