"""What a family agrees to: read by whoever may see the child, said by whoever answers for it."""

import uuid

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from athletes.consent_mail import tell_if_they_differ
from athletes.consents import Questions, answer, questions_about
from athletes.family_frame import family_page
from athletes.forms.consents import ConsentForm, PaperForm
from athletes.loaders import child_with_answers_or_404, coached_child_with_answers_or_404
from athletes.models import Child, ConsentPurpose
from library.shared.access import Request, for_coaches, for_signed_in

PAGE = "athletes:consents"


@require_GET
@for_signed_in
def consents(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """The questions with the answers there are, and a form for whoever answers for the child."""
    child = child_with_answers_or_404(request.user, public_id)
    questions = questions_about(child, request.user, timezone.localdate())
    return _page(request, child, questions, ConsentForm(questions, child))


@require_POST
@for_signed_in
def answer_consents(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """Whoever was asked before anything else goes on to what they came for."""
    child = child_with_answers_or_404(request.user, public_id)
    questions = questions_about(child, request.user, timezone.localdate())
    if not questions.may_answer:
        raise Http404
    form = ConsentForm(questions, child, request.POST)
    if not form.is_valid():
        return _page(request, child, questions, form)
    _answer(request, child, form)
    messages.success(request, "Thank you. Your answers are kept; you can change them at any time.")
    is_through = questions.is_first_visit and ConsentPurpose.TRAINING in form.answers
    return redirect("program:child_day" if is_through else PAGE, child.public_id)


@transaction.atomic
def _answer(request: Request, child: Child, form: ConsentForm) -> None:
    new = answer(child, request.user, form.answers, timezone.now())
    tell_if_they_differ(request, child, new)


def _page(request: Request, child: Child, questions: Questions, form: ConsentForm) -> HttpResponse:
    context = {"questions": questions, "form": form, "rows": form.rows(questions)}
    return family_page(request, "athletes/consents.html", child, context, same_for_others=PAGE)


@require_http_methods(["GET", "POST"])
@for_coaches
def consents_on_paper(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """A coach writes down what somebody who answers for the child has signed."""
    child = coached_child_with_answers_or_404(request.user, public_id)
    questions = questions_about(child, request.user, timezone.localdate())
    form = PaperForm(child, questions, request.POST or None)
    if form.is_valid() and _recorded(request, child, form):
        messages.success(request, "Written down, as said on paper.")
        return redirect(PAGE, child.public_id)
    context = {"child": child, "questions": questions, "form": form}
    return render(request, "athletes/consents_on_paper.html", context)


@transaction.atomic
def _recorded(request: Request, child: Child, form: PaperForm) -> bool:
    new = form.record(request.user, timezone.now())
    if new:
        tell_if_they_differ(request, child, new)
    return new is not None
