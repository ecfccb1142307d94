import datetime as dt
import json
import uuid

from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from athletes.models.circumstances import REGION_CHOICES
from library.shared.access import Request, for_everyone
from program.ask.mail import tell_coaches
from program.common.devices import owner_key
from program.common.loaders import assigned_or_404, notes_on
from program.common.wording import CAUTION
from program.family.day_page import SessionPage
from program.family.follow_along import follow_data
from program.log.forms import LogForm
from program.log.logbook import seen_mark
from program.log.pain_fields import SIDES_THAT_HURT
from program.log.phone_inbox import NotASubmission, Sent, accept
from program.models import Question, Submission, SubmissionKind


@require_GET
@for_everyone
def follow(request: Request, child_id: uuid.UUID, assigned_id: uuid.UUID) -> HttpResponse:
    """One session, full screen, to be done along with."""
    session = assigned_or_404(request.user, child_id, assigned_id)
    context = {
        "session": session,
        "child": session.child,
        "page": SessionPage(session),
        "data": follow_data(session, notes_on(session)),
        "form": LogForm(session),
        "seen": seen_mark(session),
        "regions": REGION_CHOICES,
        "sides": SIDES_THAT_HURT,
        "levels": range(1, 11),
        "caution": CAUTION,
        "owner": owner_key(request.user),
    }
    return render(request, "program/family/follow_along.html", context)


def _tell_of_question(request: Request, row: Submission, now: dt.datetime) -> None:
    """Of a question that has just come, if it could be asked."""
    asked = Question.objects.filter(child=row.child_id, asked_by=request.user, asked_at=now)
    if question := asked.select_related("child", "assigned_session").first():
        tell_coaches(request, question)


@require_POST
@for_everyone
def inbox(request: Request) -> JsonResponse:
    """One thing from a phone, as JSON; the answer says what became of it."""
    try:
        sent = Sent.read(json.loads(request.body))
    except (ValueError, RecursionError, NotASubmission) as wrong:
        return JsonResponse({"state": "refused", "sentence": str(wrong)}, status=400)
    now = timezone.now()
    row = accept(sent, request.user, now)
    if row.kind == SubmissionKind.ASK and row.received_at == now:
        _tell_of_question(request, row, now)
    return JsonResponse({"state": row.state, "sentence": row.sentence})
