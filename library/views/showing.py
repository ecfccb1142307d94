from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from library.access import Request, for_coaches
from library.content import Content, Overtaken, revise
from library.forms.figures import PoseForm
from library.loaders import exercise_or_404, figure_or_404
from library.looking import look_of
from library.models import Exercise, ExerciseRevision
from library.showing import ShowingPage


@require_GET
@for_coaches
def showing(request: Request, slug: str) -> HttpResponse:
    """What can show an exercise, and what does."""
    return render(request, "library/showing.html", {"page": ShowingPage(exercise_or_404(slug))})


@require_POST
@for_coaches
def drawn(request: Request, slug: str) -> HttpResponse:
    """Back to the figure that was drawn for the exercise."""
    exercise = exercise_or_404(slug)
    current = _current(exercise)
    _show(exercise, request.user.name, current.number, movement="")
    messages.success(request, f"{current} is shown by the figure drawn for it again.")
    return redirect("library:exercise", slug)


@require_http_methods(["GET", "POST"])
@for_coaches
def poses(request: Request, slug: str, start: str) -> HttpResponse:
    """A figure of a coach's own, made from the figure `start`."""
    exercise = exercise_or_404(slug)
    form = _form(request, exercise, start)
    if request.method == "GET" or not form.is_valid() or form.movement is None:
        return _poses(request, exercise, start, form)
    try:
        _show(exercise, request.user.name, form.cleaned_data["base"], movement=form.movement.text)
    except Overtaken as overtaken:
        form.rebase(overtaken.current)
        return _poses(request, exercise, start, form, overtaken.current)
    messages.success(request, f"{exercise} is shown by your figure. What was sent stays as it was.")
    return redirect("library:exercise", slug)


@require_POST
@for_coaches
def look(request: Request, slug: str, start: str) -> HttpResponse:
    """The figure as the sliders have it now; nothing is kept."""
    exercise = exercise_or_404(slug)
    form = _form(request, exercise, start)
    if not request.htmx:
        return _poses(request, exercise, start, form)
    context = {"form": form, "look": look_of(form)}
    return render(request, "library/poses.html#look", context)


def _form(request: Request, exercise: Exercise, start: str) -> PoseForm:
    movement = figure_or_404(exercise, start)
    return PoseForm(request.POST or None, movement, exercise.slug, _current(exercise).number)


def _poses(
    request: Request,
    exercise: Exercise,
    start: str,
    form: PoseForm,
    overtaken: ExerciseRevision | None = None,
) -> HttpResponse:
    context = {
        "exercise": exercise,
        "start": start,
        "form": form,
        "look": look_of(form),
        "overtaken": overtaken,
    }
    return render(request, "library/poses.html", context, status=409 if overtaken else 200)


def _current(exercise: Exercise) -> ExerciseRevision:
    assert exercise.current is not None  # noqa: S101 -- exercise_or_404 finds no other
    return exercise.current


def _show(exercise: Exercise, by: str, base: int, **showing: str) -> None:
    """Write a revision that says the same as the current one and is shown by something else."""
    content = Content.of(_current(exercise))
    revise(exercise, Content({**content.fields, **showing}, content.needs), by=by, base=base)
