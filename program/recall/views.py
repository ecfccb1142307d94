"""An exercise's way back: who has it, who did it, and taking it back for everybody."""

import datetime as dt
from typing import Final

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from library.loaders import exercise_or_404
from library.models import Exercise
from library.shared.access import Request, for_coaches
from program.engine.wording import plural
from program.models import Recall
from program.recall import recalling
from program.recall.forms import RecallForm
from program.recall.page import RecallPage
from program.recall.recalling import AlreadyRecalled

LOOKED_BACK: Final = dt.timedelta(weeks=4)


@require_http_methods(["GET", "POST"])
@for_coaches
def recall(request: Request, slug: str) -> HttpResponse:
    exercise = exercise_or_404(slug)
    form = RecallForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        _take_back(request, exercise, form.cleaned_data["reason"])
        return redirect("program:recall", slug)
    since = _day(request.GET.get("since", ""))
    context = {"page": RecallPage(exercise, request.user, since), "form": form}
    status = 422 if form.errors else 200
    return render(request, "program/recall/recall.html", context, status=status)


def _take_back(request: Request, exercise: Exercise, reason: str) -> None:
    now, today = timezone.now(), timezone.localdate()
    closed = recalling.holding(exercise).filter(closed_at=None).count()
    try:
        recalling.recall(exercise, reason, request.user, now, today)
    except AlreadyRecalled:
        messages.warning(request, f"{exercise} was taken back already, by somebody quicker.")
    else:
        held = f"{plural(closed, 'session')} not yet started"
        messages.success(request, f"{exercise} is taken back: {held} held it. {BEING_CHOSEN}")


BEING_CHOSEN: Final = "What comes in its place is chosen in the next minutes."


@require_POST
@for_coaches
def recall_end(request: Request, slug: str) -> HttpResponse:
    exercise = exercise_or_404(slug)
    standing = Recall.objects.of(exercise).standing().first()
    now, today = timezone.now(), timezone.localdate()
    if standing and recalling.end_recall(standing, request.user, now, today):
        messages.success(request, f"{exercise} is given back: whoever it fits gets it again.")
    else:
        messages.warning(request, f"{exercise} was given back already.")
    return redirect("program:recall", slug)


def _day(text: str) -> dt.date:
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        day = dt.date.min
    usual = timezone.localdate() - LOOKED_BACK
    return day if 2000 <= day.year < 2100 else usual
