from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from library.forms.beginning import BeginForm
from library.forms.exercises import ExerciseEdit
from library.forms.retiring import RetireForm
from library.loaders import exercise_or_404, note_on_or_404
from library.models import Exercise, ExerciseNote, Pathway
from library.revision_history import news_since
from library.revisions import Overtaken, revise
from library.shared.access import Request, for_coaches
from library.shared.already_deleted import already_deleted_message, answered_if_already_deleted
from library.signals import exercise_retired


@require_http_methods(["GET", "POST"])
@for_coaches
def new_exercise(request: Request) -> HttpResponse:
    begin = BeginForm(request.GET)
    edit = ExerciseEdit(request.POST or None, like=begin.chosen)
    if request.method == "POST" and edit.is_valid() and (exercise := edit.begin(request.user.name)):
        messages.success(request, f"{exercise} is kept as a draft. Publish it when it is right.")
        return redirect("library:exercise", exercise.slug)
    return render(request, "library/exercise_form.html", {"edit": edit, "begin": begin})


@require_http_methods(["GET", "POST"])
@for_coaches
def edit_exercise(request: Request, slug: str) -> HttpResponse:
    exercise = exercise_or_404(slug)
    edit = ExerciseEdit(request.POST or None, exercise)
    if request.method == "GET" or not edit.is_valid():
        return render(request, "library/exercise_form.html", {"edit": edit})
    try:
        revision = revise(exercise, edit.content(), by=request.user.name, base=edit.base)
    except Overtaken as overtaken:
        edit.rebase(overtaken.current)
        context = {"edit": edit, "news": news_since(edit.base, overtaken.current, edit.items)}
        return render(request, "library/exercise_form.html", context, status=409)
    if revision.number == edit.base:
        messages.info(request, "Nothing was changed.")
    else:
        messages.success(request, f"{revision} is saved. What was published stays as it was.")
    return redirect("library:exercise", slug)


@require_POST
@for_coaches
def publish(request: Request, slug: str) -> HttpResponse:
    exercise = exercise_or_404(slug)
    Exercise.objects.filter(pk=exercise.pk).update(status=Exercise.Status.PUBLISHED)
    messages.success(request, f"{exercise} is published: sessions can be built with it.")
    return redirect("library:exercise", slug)


@require_http_methods(["GET", "POST"])
@for_coaches
def retire(request: Request, slug: str) -> HttpResponse:
    exercise = exercise_or_404(slug)
    form = RetireForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        with transaction.atomic():
            Exercise.objects.filter(pk=exercise.pk).update(status=Exercise.Status.RETIRED)
            why = form.why_taken_back
            exercise_retired.send(Exercise, exercise=exercise, by=request.user, reason=why)
        taken_back = " It is taken back from whoever has not started it." if why else ""
        said = f"{exercise} is retired. It can be published again any time.{taken_back}"
        messages.success(request, said)
        return redirect("library:exercise", slug)
    pathways = Pathway.objects.holding(exercise)
    context = {"exercise": exercise, "pathways": pathways, "form": form}
    status = 422 if request.method == "POST" else 200
    return render(request, "library/retire.html", context, status=status)


def _note_was_gone(request: Request, name: str, slug: str, pk: int) -> HttpResponse:
    messages.info(request, already_deleted_message(name))
    return redirect("library:exercise", slug)


@require_POST
@for_coaches
@answered_if_already_deleted(ExerciseNote.objects.standing, _note_was_gone)
def remove_note(request: Request, slug: str, pk: int) -> HttpResponse:
    exercise = exercise_or_404(slug)
    note_on_or_404(exercise, pk).remove(request.user.name, timezone.now())
    messages.success(request, f"The note is off {exercise}, for families too.")
    return redirect("library:exercise", slug)
