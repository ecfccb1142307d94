import datetime as dt
import uuid

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_GET, require_POST

from athletes.health_views import looked_at
from athletes.loaders import child_or_404
from athletes.mailing import origin_of
from athletes.models import Child
from library.shared.access import Request, for_coaches
from library.shared.ids import whole_number
from program.ask.answering import AlreadyAnswered, Reply
from program.ask.answering import answer as reply
from program.ask.mail import tell_family
from program.common.loaders import resolution_or_404, session_or_404
from program.models import Question, Resolution
from program.models.resolutions import Do
from program.review.attendance import attendance_of
from program.review.decisions import (
    CannotUndo,
    NotACoach,
    UnfitDay,
    hand,
    note_refits,
    put_off,
    resolve,
    undo,
)
from program.review.finding import Finding
from program.review.logged_sessions import Return, Returns
from program.review.queue import open_finding, queue_of

A_PAGE = 30
PAGE = "program/review/queue.html"
GONE = "Somebody has answered this already, or it is no longer so."


@require_GET
@for_coaches
def review(request: Request) -> HttpResponse:
    """The queue, of all one's children or of a cohort (`?cohort=3`)."""
    queue = queue_of(request.user, timezone.localdate(), request.GET.get("cohort", ""))
    looked_at(request, *queue.told_of)
    return render(request, PAGE, {"queue": queue})


@require_POST
@for_coaches
def answer(request: Request) -> HttpResponse:
    """Answer one finding, named by the `child` it is about and its `key`."""
    child = _child_or_404(request)
    if request.POST.get("action") == Do.ANSWER:
        return _reply(request, child)
    now, today = timezone.now(), timezone.localdate()
    finding = open_finding(request.user, child, request.POST.get("key", ""), today)
    if finding is None:
        return _answered(request, child, GONE)
    try:
        resolution = _resolve(request, finding, now, today)
    except (NotACoach, UnfitDay, ValidationError) as refused:
        said = refused.messages[0] if isinstance(refused, ValidationError) else str(refused)
        return _answered(request, child, said)
    outcome = note_refits(child, now, request.user)
    return _answered(request, child, f"{child}: {resolution.sentence} {outcome}", resolution)


def _reply(request: Request, child: Child) -> HttpResponse:
    """Answer a question in the coach's own words, also of a child that has left meanwhile. Words
    that cannot be sent are handed back."""
    key, words = request.POST.get("key", ""), request.POST.get("words", "")
    asked = Question.objects.visible_to(request.user).filter(child=child).under(key).first()
    if asked is None:
        return _answered(request, child, GONE)
    sent = Reply(words, keeps_note="keep" in request.POST)
    try:
        with transaction.atomic():
            resolution = reply(asked, sent, request.user, timezone.now(), timezone.localdate())
            tell_family(request, asked)
    except AlreadyAnswered:
        not_sent = f" Yours was not sent: “{words.strip()}”" if words.strip() else ""
        return _answered(request, child, f"{GONE}{not_sent}")
    except ValidationError as refused:
        typed = {"key": key, "words": words, "why": refused.messages[0]}
        return _answered(request, child, refused.messages[0], typed=typed)
    return _answered(request, child, f"{child}: {resolution.sentence}", resolution)


def _resolve(request: Request, finding: Finding, now: dt.datetime, today: dt.date) -> Resolution:
    code = request.POST.get("action", "")
    if code == Do.LATER:
        until = parse_date(request.POST.get("until", "")) or today
        return put_off(finding, until, request.user, now, today)
    if code == Do.HAND:
        to = whole_number(request.POST.get("to"))
        return hand(finding, to or 0, request.user, now, today, origin_of(request))
    action = finding.action(code)
    if action is None or action.do is Do.LOOK:
        raise ValidationError("Choose one of the buttons.", code="unknown")
    because = request.POST.get("because", "").strip()
    return resolve(finding, action, request.user, now, today, because)


@require_POST
@for_coaches
def answer_back(request: Request, resolution_id: int) -> HttpResponse:
    """Take an answer back: what it asked is asked again."""
    resolution = resolution_or_404(request.user, resolution_id)
    now = timezone.now()
    try:
        undo(resolution, request.user, now)
    except CannotUndo as refused:
        return _answered(request, resolution.child, str(refused))
    outcome = note_refits(resolution.child, now, request.user)
    said = f"{resolution.child}: taken back. {outcome}"
    return _answered(request, resolution.child, said)


def _child_or_404(request: Request) -> Child:
    try:
        public_id = uuid.UUID(request.POST.get("child", ""))
    except ValueError:
        raise Http404 from None
    return child_or_404(request.user, public_id)


def _answered(
    request: Request,
    child: Child,
    said: str,
    resolution: Resolution | None = None,
    typed: dict[str, str] | None = None,
) -> HttpResponse:
    """The page the answer came from, as it is now, and what was just said. `scope` says which: ""
    is the whole queue, digits a cohort's, "child" the child's own page."""
    scope = request.POST.get("scope", "")
    if request.htmx:
        queue = queue_of(request.user, timezone.localdate(), scope)
        looked_at(request, *queue.told_of)
        context = {"queue": queue, "said": said, "just": resolution, "typed": typed}
        return render(request, f"{PAGE}#queue", context)
    messages.success(request, said)
    if scope == "child":
        return redirect("program:child_review", child.public_id)
    address = reverse("program:review")
    cohort = whole_number(scope)
    return redirect(address if cohort is None else f"{address}?cohort={cohort}")


@require_GET
@for_coaches
def came_back(request: Request, session_id: int | None = None) -> HttpResponse:
    """All that was logged, or all of one session: the newest first, and what nobody logged."""
    today = timezone.localdate()
    planned = session_or_404(request.user, session_id) if session_id else None
    returns = Returns(request.user, today, planned)
    page = Paginator(returns.logged, A_PAGE).get_page(request.GET.get("page"))
    logs = [Return(session, today) for session in page]
    children = [each.child for each in page]
    looked_at(request, *children)
    context = {
        "returns": returns,
        "page": page,
        "logs": logs,
    }
    return render(request, "program/review/logged_sessions.html", context)


@require_GET
@for_coaches
def attendance(request: Request) -> HttpResponse:
    """Who did what could be done, by cohort and child."""
    cohorts = attendance_of(request.user, timezone.localdate())
    looked_at(request, *(child for each in cohorts for child in each.told_of))
    return render(request, "program/review/attendance.html", {"attendance": cohorts})
