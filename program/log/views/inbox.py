"""What a phone kept while it had no connection, one thing at a time."""

import datetime as dt
import json

from django.db import transaction
from django.http import JsonResponse
from django.views.decorators.http import require_POST

from library.shared.access import Request, for_whoever_reports
from program.ask.mail import tell_coaches
from program.log.pain_reports import reporting_of
from program.log.phone_inbox import NotASubmission, Sent, accept
from program.models import Question, Submission, SubmissionKind


def _tell_of_question(request: Request, row: Submission, now: dt.datetime) -> None:
    """Of a question that has just come, if it could be asked."""
    asked = Question.objects.filter(child=row.child_id, asked_by=request.user, asked_at=now)
    if question := asked.select_related("child", "assigned_session").first():
        tell_coaches(request, question)


@require_POST
@for_whoever_reports
def inbox(request: Request) -> JsonResponse:
    """One thing from a phone, as JSON; the answer says what became of it."""
    try:
        sent = Sent.read(json.loads(request.body))
    except (ValueError, RecursionError, NotASubmission) as wrong:
        return JsonResponse({"state": "refused", "sentence": str(wrong)}, status=400)
    reporting = reporting_of(request)
    now = reporting.now
    with transaction.atomic():
        row = accept(sent, reporting)
        if row.kind == SubmissionKind.ASK and row.received_at == now:
            _tell_of_question(request, row, now)
    return JsonResponse({"state": row.state, "sentence": row.sentence})
