from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from library.forms.pathways import (
    LateralForm,
    LinkForm,
    PathwayForm,
    StepForm,
    StepWordsForm,
    exercises_for,
)
from library.loaders import lateral_in_or_404, pathway_or_404, step_in_or_404
from library.models import Lateral, Pathway, Step
from library.pathway_changes import remove
from library.pathway_page import PathwayPage
from library.shared.access import Request, for_coaches
from library.shared.already_deleted import already_deleted_message, answered_if_already_deleted


@require_GET
@for_coaches
def pathway(request: Request, slug: str) -> HttpResponse:
    return _page(request, pathway_or_404(slug))


@require_http_methods(["GET", "POST"])
@for_coaches
def new_pathway(request: Request) -> HttpResponse:
    form = PathwayForm(request.POST or None)
    if request.method == "POST" and form.is_valid() and (made := form.begin()):
        messages.success(request, f"{made} is begun. Its first step brings its first exercises.")
        return redirect("library:pathway", made.slug)
    return render(request, "library/pathway_form.html", {"form": form})


@require_http_methods(["GET", "POST"])
@for_coaches
def edit_pathway(request: Request, slug: str) -> HttpResponse:
    one = pathway_or_404(slug)
    form = PathwayForm(request.POST or None, instance=one)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"{one} is saved.")
        return redirect("library:pathway", slug)
    return render(request, "library/pathway_form.html", {"form": form, "pathway": one})


@require_POST
@for_coaches
def add_step(request: Request, slug: str) -> HttpResponse:
    one = pathway_or_404(slug)
    return _add(request, one, StepForm(request.POST, one, list(exercises_for(one))))


@require_POST
@for_coaches
def add_lateral(request: Request, slug: str) -> HttpResponse:
    one = pathway_or_404(slug)
    return _add(request, one, LateralForm(request.POST, one, list(exercises_for(one))))


@require_http_methods(["GET", "POST"])
@for_coaches
def step(request: Request, slug: str, pk: int) -> HttpResponse:
    one = step_in_or_404(pathway_or_404(slug), pk)
    form = StepWordsForm(request.POST or None, instance=one)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"The step {one} is saved.")
        return redirect("library:pathway", slug)
    return render(request, "library/step_form.html", {"form": form, "step": one})


def _link_was_gone(request: Request, name: str, slug: str, pk: int) -> HttpResponse:
    messages.info(request, already_deleted_message(name))
    return redirect("library:pathway", slug)


@require_POST
@for_coaches
@answered_if_already_deleted(Step.objects.all, _link_was_gone)
def remove_step(request: Request, slug: str, pk: int) -> HttpResponse:
    one = step_in_or_404(pathway_or_404(slug), pk)
    remove(one)
    messages.success(request, f"The step {one} is gone.")
    return redirect("library:pathway", slug)


@require_POST
@for_coaches
@answered_if_already_deleted(Lateral.objects.all, _link_was_gone)
def remove_lateral(request: Request, slug: str, pk: int) -> HttpResponse:
    one = lateral_in_or_404(pathway_or_404(slug), pk)
    remove(one)
    messages.success(request, f"{one.one} and {one.other} are no longer said to be as hard.")
    return redirect("library:pathway", slug)


def _add(request: Request, one: Pathway, form: StepForm | LateralForm) -> HttpResponse:
    if not (form.is_valid() and form.add()):
        return _page(request, pathway_or_404(one.slug), form)
    messages.success(request, "The pathway has grown.")
    return redirect("library:pathway", one.slug)


def _page(request: Request, one: Pathway, tried: LinkForm | None = None) -> HttpResponse:
    """The pathway's page, with a form that was refused kept as it was typed."""
    exercises = list(exercises_for(one))
    context = {
        "page": PathwayPage(one),
        "step_form": tried if isinstance(tried, StepForm) else StepForm(None, one, exercises),
        "lateral_form": tried
        if isinstance(tried, LateralForm)
        else LateralForm(None, one, exercises),
        "has_exercises": bool(exercises),
    }
    return render(request, "library/pathway.html", context)
