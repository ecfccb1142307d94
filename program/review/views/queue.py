import datetime as dt
import uuid
from collections.abc import Sequence

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
from athletes.inviting_again import invite_again as invite_again_to
from athletes.loaders import coached_child_or_404
from athletes.mailing import origin_of
from athletes.models import Child
from library.shared.access import Request, asks_again, for_coaches
from library.shared.ids import whole_number
from program.ask.answering import AlreadyAnswered, Reply
from program.ask.answering import answer as reply
from program.ask.mail import tell_family
from program.common.loaders import resolution_or_404, session_or_404
from program.engine.wording import listed, plural
from program.models import Question, Resolution
from program.models.resolutions import Do
from program.review.answers import Press, presses
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
from program.review.queue import open_finding, open_findings, queue_of
from program.review.together import (
    Answered,
    hand_together,
    note_invited_again,
    put_off_together,
    resolve_together,
    undo_together,
)

A_PAGE = 30
ANSWERS_ON_A_PAGE = 50
PAGE = "program/review/queue.html"
GONE = "Somebody has answered this already, or it is no longer so."


@require_GET
@for_coaches
def review(request: Request) -> HttpResponse:
    """The queue, of all one's children or of a cohort (`?cohort=3`); `just` names an answer that
    was given a moment ago, which can be taken back where the eye is."""
    queue = queue_of(request.user, timezone.localdate(), request.GET.get("cohort", ""))
    looked_at(request, *queue.told_of)
    just = queue.press_of(whole_number(request.GET.get("just")))
    context = {"queue": queue, "just": just, "said": "Answered just now." if just else ""}
    return render(request, PAGE, context)


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
    outcome = note_refits([child], now, request.user)
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
def answer_together(request: Request) -> HttpResponse:
    """Answer equal findings of several children, each named by child and key in `each`."""
    now, today = timezone.now(), timezone.localdate()
    asked = _asked(request)
    found = open_findings(request.user, asked, today)
    if not found:
        return _answered(request, None, GONE)
    try:
        answered = _resolve_together(request, found, now, today)
    except (NotACoach, UnfitDay, ValidationError) as refused:
        said = refused.messages[0] if isinstance(refused, ValidationError) else str(refused)
        return _answered(request, None, said)
    return _told_together(request, answered.without(len(asked) - len(found)), now)


def _resolve_together(
    request: Request, found: Sequence[Finding], now: dt.datetime, today: dt.date
) -> Answered:
    code = request.POST.get("action", "")
    if code == Do.LATER:
        until = parse_date(request.POST.get("until", "")) or today
        return put_off_together(found, until, request.user, now, today)
    if code == Do.HAND:
        to = whole_number(request.POST.get("to")) or 0
        return hand_together(found, to, request.user, now, today, origin_of(request))
    return resolve_together(found, code, request.user, now, today)


def _told_together(request: Request, answered: Answered, now: dt.datetime) -> HttpResponse:
    outcome = note_refits(answered.children, now, request.user)
    return _answered(request, None, f"{answered.sentence or GONE} {outcome}", *answered.answers)


@require_POST
@for_coaches
@asks_again
def invite_again(request: Request) -> HttpResponse:
    """Send the invitation again to the families of these children who have not come."""
    now, today = timezone.now(), timezone.localdate()
    found = open_findings(request.user, _asked(request), today)
    waiting = [each for each in found if each.is_invited]
    if not waiting:
        return _answered(request, None, GONE)
    try:
        with transaction.atomic():
            sent = invite_again_to(request, [each.who.child for each in waiting], today)
            answered = note_invited_again(waiting, sent, request.user, now, today)
    except ValidationError as refused:
        return _answered(request, None, refused.messages[0])
    return _told_together(request, answered, now)


def _asked(request: Request) -> set[tuple[uuid.UUID, str]]:
    """Children and keys, each sent as "child key"."""
    pairs = [each.partition(" ") for each in request.POST.getlist("each")]
    try:
        return {(uuid.UUID(child), key) for child, _, key in pairs}
    except ValueError:
        raise Http404 from None


@require_POST
@for_coaches
def answer_back(request: Request, resolution_id: int) -> HttpResponse:
    """Take an answer back, with `all` every one that was given in the same press: what it asked is
    asked again."""
    resolution = resolution_or_404(request.user, resolution_id)
    now = timezone.now()
    if "all" in request.POST:
        return _back_together(request, resolution, now)
    try:
        undo(resolution, request.user, now)
    except CannotUndo as refused:
        return _answered(request, resolution.child, str(refused))
    outcome = note_refits([resolution.child], now, request.user)
    said = f"{resolution.child}: taken back. {outcome}"
    return _answered(request, resolution.child, said)


def _back_together(request: Request, resolution: Resolution, now: dt.datetime) -> HttpResponse:
    taken = undo_together(resolution, request.user, now)
    outcome = note_refits(taken.back, now, request.user)
    back = f"{plural(len(taken.back), 'child', 'children')}: taken back." if taken.back else ""
    stays = (
        f"{listed(map(str, taken.stays))}: something else was decided since, so it stays."
        if taken.stays
        else ""
    )
    return _answered(request, None, " ".join(filter(None, (back, stays, outcome))))


@require_GET
@for_coaches
def answers(request: Request) -> HttpResponse:
    """Everything that was answered, the newest first, with the way back."""
    own = Child.objects.coached_by(request.user)
    answered = Resolution.objects.visible_to(request.user).filter(child__in=own).with_names()
    page = Paginator(answered, ANSWERS_ON_A_PAGE).get_page(request.GET.get("page"))
    listed_answers = presses(page)
    looked_at(request, *(child for each in listed_answers for child in each.children))
    context = {"page": page, "presses": listed_answers}
    return render(request, "program/review/answers.html", context)


def _child_or_404(request: Request) -> Child:
    try:
        public_id = uuid.UUID(request.POST.get("child", ""))
    except ValueError:
        raise Http404 from None
    return coached_child_or_404(request.user, public_id)


def _answered(
    request: Request,
    child: Child | None,
    said: str,
    *just: Resolution,
    typed: dict[str, str] | None = None,
) -> HttpResponse:
    """The page the answer came from, as it is now, and what was just said. `scope` says which: ""
    is the whole queue, digits a cohort's, "child" the child's own page, "answers" the list of what
    was answered."""
    scope = request.POST.get("scope", "")
    if request.htmx:
        queue = queue_of(request.user, timezone.localdate(), scope)
        looked_at(request, *queue.told_of)
        press = Press(just) if just else None
        context = {"queue": queue, "said": said, "just": press, "typed": typed}
        return render(request, f"{PAGE}#queue", context)
    messages.success(request, said)
    if scope == "child" and child:
        return redirect("program:child_review", child.public_id)
    if scope == "answers":
        return redirect("program:answers")
    cohort = whole_number(scope)
    said_of = {"cohort": cohort, "just": just[0].pk if just else None}
    query = {name: number for name, number in said_of.items() if number is not None}
    return redirect(reverse("program:review", query=query))


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
