from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from library.figure_editor.choice import FigureChoicePage
from library.figure_editor.forms.drafts import unpacked
from library.figure_editor.forms.figures import PictureForm, PoseForm
from library.figure_editor.forms.pieces import Piece
from library.figure_editor.preview import look_of
from library.loaders import exercise_or_404, figure_or_404
from library.models import Exercise, ExerciseRevision
from library.revisions import Content, Overtaken, kept_showing, revise
from library.shared.access import Request, for_coaches
from library.shared.uploads.keeping import kept


@require_GET
@for_coaches
def showing(request: Request, slug: str) -> HttpResponse:
    """What can show an exercise, and what does."""
    exercise = exercise_or_404(slug)
    if _current(exercise).unsaid:
        return _how_it_lands_first(request, exercise)
    form = PictureForm(initial={"base": _current(exercise).number})
    return _choice(request, exercise, form)


@require_POST
@for_coaches
def picture(request: Request, slug: str) -> HttpResponse:
    """A photo or clip shows the exercise from now on."""
    exercise = exercise_or_404(slug)
    if _current(exercise).unsaid:
        return _how_it_lands_first(request, exercise)
    form = PictureForm(request.POST, request.FILES)
    if form.is_valid() and _keep_picture(exercise, request.user.name, form):
        messages.success(request, f"{exercise} is shown by what you chose.")
        return redirect("library:exercise", slug)
    return _choice(request, exercise, form)


def _how_it_lands_first(request: Request, exercise: Exercise) -> HttpResponse:
    """What was written before that was asked for would be refused with another figure too."""
    messages.info(request, f"Say first how {exercise} lands; then choose what shows it.")
    return redirect("library:edit_exercise", exercise.slug)


def _choice(request: Request, exercise: Exercise, form: PictureForm) -> HttpResponse:
    context = {"page": FigureChoicePage(exercise), "form": form}
    return render(request, "library/figure_editor/choice.html", context)


def _keep_picture(exercise: Exercise, by: str, form: PictureForm) -> bool:
    """Whether it was kept; not where somebody else has saved the exercise meanwhile."""
    data = form.cleaned_data
    try:
        with kept(data["upload"]) as name:
            _show(exercise, by, data["base"], picture=name, picture_words=data["words"])
    except Overtaken as overtaken:
        form.add_error(None, f"{overtaken} Reload the page, and choose the file again.")
        return False
    return True


@require_POST
@for_coaches
def drawn(request: Request, slug: str) -> HttpResponse:
    """Back to the figure that was drawn for the exercise."""
    exercise = exercise_or_404(slug)
    current = _current(exercise)
    if current.unsaid:
        return _how_it_lands_first(request, exercise)
    _show(exercise, request.user.name, current.number)
    messages.success(request, f"{current} is shown by the figure drawn for it again.")
    return redirect("library:exercise", slug)


@require_http_methods(["GET", "POST"])
@for_coaches
def poses(request: Request, slug: str, start: str) -> HttpResponse:
    """A figure of a coach's own, made from the figure `start`."""
    exercise = exercise_or_404(slug)
    if _current(exercise).unsaid:
        return _how_it_lands_first(request, exercise)
    form = _form(request, exercise, start)
    if request.method == "GET" or not form.is_valid() or form.movement is None:
        return _poses(request, exercise, start, form)
    try:
        _show(exercise, request.user.name, form.cleaned_data["base"], movement=form.movement.text)
    except Overtaken as overtaken:
        form.rebase(overtaken.current)
        return _poses(request, exercise, start, form, overtaken=overtaken.current)
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
    return render(request, "library/figure_editor/poses.html#look_answer", context)


@require_POST
@for_coaches
def arrange(request: Request, slug: str, start: str) -> HttpResponse:
    """A key pose or a part added to the figure or taken out of it; nothing is kept."""
    exercise = exercise_or_404(slug)
    form = _form(request, exercise, start)
    try:
        piece = form.piece(request.POST.get("do", ""))
    except ValidationError as refused:
        return _poses(request, exercise, start, form, refused=str(refused.message))
    if piece is None:
        return _poses(request, exercise, start, form)
    return _poses(request, exercise, start, form.going_on(piece), piece=piece)


def _form(request: Request, exercise: Exercise, start: str) -> PoseForm:
    origin, current = figure_or_404(exercise, start), _current(exercise).number
    draft = unpacked(exercise.slug, request.POST.get("draft", ""))
    return PoseForm(request.POST or None, origin, exercise.slug, current, draft)


def _poses(
    request: Request,
    exercise: Exercise,
    start: str,
    form: PoseForm,
    **told: ExerciseRevision | Piece | str,
) -> HttpResponse:
    """The page of poses; `told` is what to say above it: `overtaken`, `piece` or `refused`."""
    context = {
        "exercise": exercise,
        "start": start,
        "form": form,
        "look": look_of(form),
        **told,
    }
    status = 409 if "overtaken" in told else 200
    return render(request, "library/figure_editor/poses.html", context, status=status)


def _current(exercise: Exercise) -> ExerciseRevision:
    assert exercise.current is not None  # noqa: S101 -- exercise_or_404 finds no other
    return exercise.current


def _show(exercise: Exercise, by: str, base: int, **showing: str) -> None:
    """Write a revision that says the same as the current one and is shown by this alone."""
    content = Content.of(_current(exercise))
    fields = {**content.fields, **kept_showing(None), **showing}
    revise(exercise, Content(fields, content.needs), by=by, base=base)
