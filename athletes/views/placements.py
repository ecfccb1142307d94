"""Where children stand on pathways: the board of a cohort, and a child's first placement."""

import uuid
from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from athletes.changes import place, see_as_they_stand
from athletes.forms.placements import FirstPlacementForm, GroupForm, MoveForm, ProfileForm
from athletes.loaders import coached_child_or_404, cohort_or_404, pathway_or_404
from athletes.models import Child, Cohort, Placement
from athletes.models.starting_points import TrainingAge
from athletes.placement_board import Board, board_of
from athletes.placement_ladder import ladder_of
from athletes.starting_profile import Group, starting_profile
from library.models import Pathway
from library.shared.access import Request, for_coaches, for_head_coach


@require_GET
@for_coaches
def all_placements(request: Request) -> HttpResponse:
    """The first cohort on the first pathway, or what has to be there before."""
    cohort = Cohort.objects.visible_to(request.user).first()
    pathway = Pathway.objects.first()
    if cohort is None or pathway is None:
        return render(request, "athletes/placements_empty.html", {"cohort": cohort})
    return redirect("athletes:placements", cohort.pk, pathway.slug)


@require_GET
@for_coaches
def placements(request: Request, cohort_id: int, slug: str) -> HttpResponse:
    board = _board(request, cohort_id, slug)
    return _board_page(request, board, _asked_for(request), MoveForm())


@require_POST
@for_coaches
def move_child(request: Request, cohort_id: int, slug: str) -> HttpResponse:
    """One child to another exercise. htmx gets the board as it is then, a plain form a redirect."""
    board = _board(request, cohort_id, slug)
    form = MoveForm(request.POST)
    if not form.is_valid():
        return _board_page(request, board, _asked_for(request), form)
    public_id, exercise_slug = form.cleaned_data["move"].split(":")
    token, exercise = board.token_of(uuid.UUID(public_id)), board.ladder.find(exercise_slug)
    if token is None:
        raise Http404
    if exercise is None:
        form.add_error("move", "This exercise is no longer on the pathway. Choose another.")
        return _board_page(request, board, token.child.public_id, form)
    place(token.child, board.ladder.pathway, exercise, request.user, form.cleaned_data["why"])
    return _moved(request, board, f"{token.child} works on {exercise} now.")


@require_POST
@for_coaches
def see_placements(request: Request, cohort_id: int, slug: str) -> HttpResponse:
    """All who were started at one exercise are seen there."""
    board = _board(request, cohort_id, slug)
    seen = see_as_they_stand(board.not_seen_at(request.POST.get("at", "")), request.user)
    children = "1 child is" if len(seen) == 1 else f"{len(seen)} children are"
    return _moved(request, board, f"{children} seen as they stand." if seen else "Seen already.")


def _moved(request: Request, board: Board, sentence: str) -> HttpResponse:
    if request.htmx:
        anew = board_of(board.cohort, board.ladder, timezone.localdate())
        return _board_page(request, anew, None, MoveForm(), said=sentence)
    messages.success(request, sentence)
    return redirect("athletes:placements", board.cohort.pk, board.ladder.pathway.slug)


def _board(request: Request, cohort_id: int, slug: str) -> Board:
    cohort = cohort_or_404(request.user, cohort_id)
    return board_of(cohort, ladder_of(pathway_or_404(slug)), timezone.localdate())


def _asked_for(request: Request) -> uuid.UUID | None:
    """The child whose placement is looked at; who is not on the board is not looked at."""
    try:
        return uuid.UUID(request.GET.get("child", ""))
    except ValueError:
        return None


def _board_page(
    request: Request, board: Board, asked_for: uuid.UUID | None, form: MoveForm, said: str = ""
) -> HttpResponse:
    token = board.token_of(asked_for) if asked_for else None
    context: dict[str, Any] = {
        "board": board,
        "form": form,
        "said": said,
        "chosen": token,
        "history": _history(token.child, board.ladder.pathway) if token else (),
    }
    if request.htmx:
        return render(request, "athletes/placements.html#board", context)
    context |= {
        "cohorts": Cohort.objects.visible_to(request.user),
        "pathways": Pathway.objects.all(),
    }
    return render(request, "athletes/placements.html", context)


def _history(child: Child, pathway: Pathway) -> Sequence[Placement]:
    return list(child.placements.filter(pathway=pathway).with_names())


@require_GET
@for_coaches
def child_placements(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """Where a page of its own was: bookmarks lead to the part of the child's page it became."""
    child = coached_child_or_404(request.user, public_id)
    return redirect(f"{reverse('program:child_review', args=[child.public_id])}#pathways")


@require_POST
@for_coaches
def seen_placements(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """A child is seen where it was started: on one pathway, or on all."""
    child = coached_child_or_404(request.user, public_id)
    not_seen = child.placements.current().not_seen()
    if slug := request.POST.get("pathway"):
        not_seen = not_seen.filter(pathway__slug=slug[:80])
    seen = see_as_they_stand(list(not_seen), request.user)
    pathways = "1 pathway" if len(seen) == 1 else f"{len(seen)} pathways"
    messages.success(request, f"{child} is seen on {pathways}." if seen else "Seen already.")
    return redirect("program:child_review", child.public_id)


@require_http_methods(["GET", "POST"])
@for_coaches
def place_group(request: Request, cohort_id: int) -> HttpResponse:
    """How far a whole cohort is placed, and those who are not, at once."""
    cohort = cohort_or_404(request.user, cohort_id)
    group = Group.of(cohort, timezone.localdate())
    form = GroupForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        count = form.place(group, request.user)
        children = "1 child begins" if count == 1 else f"{count} children begin"
        messages.success(
            request, f"{children} now. Not seen yet: that counts for no landing and nothing harder."
        )
        return redirect("athletes:place_group", cohort.pk)
    cohorts = Cohort.objects.visible_to(request.user)
    context = {"group": group, "form": form, "cohorts": cohorts}
    return render(request, "athletes/place_group.html", context)


@require_http_methods(["GET", "POST"])
@for_head_coach
def starting_profile_page(request: Request) -> HttpResponse:
    form = ProfileForm(request.POST or None, profile=starting_profile())
    if request.method == "POST" and form.is_valid():
        form.keep(request.user)
        messages.success(request, "From now on groups begin there. Who is placed stays.")
        return redirect("athletes:starting_profile")
    context = {"form": form, "ages": TrainingAge.labels}
    return render(request, "athletes/starting_profile.html", context)


@require_http_methods(["GET", "POST"])
@for_coaches
def first_placement(request: Request, public_id: uuid.UUID) -> HttpResponse:
    child = coached_child_or_404(request.user, public_id)
    ladders = [ladder_of(pathway) for pathway in Pathway.objects.with_graph()]
    current = {
        placement.pathway_id: placement for placement in child.placements.current().with_names()
    }
    form = FirstPlacementForm(request.POST or None, ladders=ladders, current=current)
    if request.method == "POST" and form.is_valid() and _place(request, form, child):
        return redirect("program:child_review", child.public_id)
    context = {"child": child, "form": form, "has_pathways": bool(form.ladders)}
    return render(request, "athletes/first_placement.html", context)


def _place(request: Request, form: FirstPlacementForm, child: Child) -> bool:
    """False, with the reason on the form, if an exercise was retired at this moment."""
    try:
        count = form.place(child, request.user)
    except ValidationError as reason:
        form.add_error(None, reason)
        return False
    messages.success(
        request, f"{child} is placed on {count} {'pathway' if count == 1 else 'pathways'}."
    )
    return True
