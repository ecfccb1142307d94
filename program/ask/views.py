"""A family asks about a session, or a coach for it, and a coach answers; everybody who may see the
child reads both."""

import datetime as dt
import uuid
from contextlib import suppress

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from athletes.family_frame import family_page
from athletes.health_views import looked_at
from athletes.loaders import child_or_404
from athletes.models import Child
from library.shared.access import Request, for_coaches, for_signed_in
from library.shared.uploads.keeping import answer_with, kept
from program.ask.answering import AlreadyAnswered, answer
from program.ask.forms import AnswerForm, QuestionForm
from program.ask.mail import tell_coaches, tell_family
from program.ask.page import QuestionPage
from program.common.idempotency import KEY_FIELD, already_done, new_idempotency_key
from program.common.loaders import (
    assigned_or_404,
    question_or_404,
    question_to_answer_or_404,
)
from program.common.reading import answers_are_read
from program.models import Question
from program.publish.deciding import ChoiceNeedsReason


@require_http_methods(["GET", "POST"])
@for_signed_in
def ask(request: Request, child_id: uuid.UUID, assigned_id: uuid.UUID) -> HttpResponse:
    session = assigned_or_404(request.user, child_id, assigned_id)
    posted = (request.POST, request.FILES) if request.method == "POST" else ()
    form = QuestionForm(session, request.user, *posted)
    if posted:
        form.count_upload(timezone.now())
    if form.is_valid() and _ask_once(request, form):
        messages.success(request, "Asked. The coach’s answer will stand on this page.")
        return redirect("program:ask", child_id, assigned_id)
    context = {
        "session": session,
        "form": form,
        "asked": _asked_about(request, session.child),
        "idempotency_key": request.POST.get(KEY_FIELD) or new_idempotency_key(),
    }
    return family_page(request, "program/ask/ask.html", session.child, context)


@require_GET
@for_signed_in
def family_questions(request: Request, child_id: uuid.UUID) -> HttpResponse:
    """All that was asked about a child, with the answers."""
    child = child_or_404(request.user, child_id)
    context = {"asked": _asked_about(request, child)}
    return family_page(
        request,
        "program/ask/family_questions.html",
        child,
        context,
        same_for_others="program:family_questions",
    )


def _asked_about(request: Request, child: Child) -> list[Question]:
    """To be shown: the answers among it are read by whoever opens it."""
    asked = Question.objects.visible_to(request.user).filter(child=child)
    found = list(asked.to_be_read_by(request.user))
    looked_at(request, child)
    answers_are_read(request, found)
    return found


class _NotAsked(Exception):
    """It was asked before, or it is one too many: what came with it is let go."""


def _ask_once(request: Request, form: QuestionForm) -> bool:
    """Ask, and tell the coaches, unless it has been asked already. Whether it stands now."""
    upload, now = form.cleaned_data.get("upload"), timezone.now()
    with suppress(_NotAsked), kept(upload) as name, transaction.atomic():
        if already_done(request, form.cleaned_data["text"]) or form.refuse_a_flood(now):
            raise _NotAsked
        tell_coaches(request, form.save(now, name))
    return form.is_valid()


@require_GET
@for_signed_in
def upload(request: Request, question_id: uuid.UUID) -> HttpResponse:
    """The photo or clip of a question."""
    question = question_or_404(request.user, question_id)
    if not question.shown_upload:
        raise Http404
    looked_at(request, question.child)
    return answer_with(request, question.shown_upload, of_a_child=True)


def _question_page(request: Request, question_id: uuid.UUID, today: dt.date) -> QuestionPage:
    found = question_to_answer_or_404(request.user, question_id)
    return QuestionPage(found, request.user, today)


@require_http_methods(["GET", "POST"])
@for_coaches
def question(request: Request, question_id: uuid.UUID) -> HttpResponse:
    """One question and its answer, with what else can follow from it."""
    today, now = timezone.localdate(), timezone.now()
    page = _question_page(request, question_id, today)
    looked_at(request, page.question.child)
    form = AnswerForm(page.question, page.choices, request.POST or None)
    if request.method == "POST" and not page.question.answered_at and form.is_valid():
        try:
            with transaction.atomic():
                told = answer(page.question, form.reply, request.user, now, today)
                tell_family(request, page.question)
        except AlreadyAnswered:
            page = _question_page(request, question_id, today)
        except ChoiceNeedsReason as needed:
            form.ask_why(needed.stops)
        else:
            messages.success(request, f"{page.question.child}: {told.sentence}")
            return redirect("program:question", question_id)
    status = 422 if form.stops else 200
    context = {"page": page, "form": form}
    return render(request, "program/ask/question.html", context, status=status)
