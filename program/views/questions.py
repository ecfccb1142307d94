"""A family asks about a session, or a coach for it; everybody who may see the child reads question
and answer."""

import uuid

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from library.access import Request, for_everyone
from program.family_loaders import assigned_or_404
from program.forms_questions import QuestionForm
from program.models import AssignedSession, Question
from program.once import is_repeated, new_key
from program.views.family import family_page


@require_http_methods(["GET", "POST"])
@for_everyone
def ask(request: Request, child_id: uuid.UUID, assigned_id: uuid.UUID) -> HttpResponse:
    session = assigned_or_404(request.user, child_id, assigned_id)
    form = QuestionForm(session, request.POST or None)
    if request.method == "POST" and form.is_valid():
        _ask_once(request, session, form)
        messages.success(request, "Asked. The coach’s answer will stand on this page.")
        return redirect("program:ask", child_id, assigned_id)
    asked = Question.objects.visible_to(request.user).filter(child=session.child)
    context = {
        "session": session,
        "form": form,
        "asked": asked.with_names(),
        "once": request.POST.get("once") or new_key(),
    }
    return family_page(request, "program/family/ask.html", session.child, context)


@transaction.atomic
def _ask_once(request: Request, session: AssignedSession, form: QuestionForm) -> None:
    if not is_repeated(request, form.cleaned_data["text"]):
        form.save(request.user, timezone.now())
