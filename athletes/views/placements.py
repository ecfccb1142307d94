"""Where children stand on pathways: the board of a cohort, and one child's own pages."""

import uuid
from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from athletes.changes import place
from athletes.forms.placements import FirstPlacementForm, MoveForm
from athletes.loaders import child_or_404, cohort_or_404, pathway_or_404
from athletes.models import Child, Cohort, Placement
from athletes.placement_board import Board, board_of, trouble_with
from athletes.placement_ladder import Ladder, ladder_of
from library.models import Pathway
from library.shared.access import Request, for_coaches
from library.shared.lanes import PathwayLane, Stop, pathway_lane


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
    """Every pathway as a lane with the child on it, and how the child got there."""
    child = child_or_404(request.user, public_id)
    rows: dict[int, list[Placement]] = defaultdict(list)
    for placement in child.placements.with_names():
        rows[placement.pathway_id].append(placement)
    ways = [_way(ladder_of(pathway), rows[pathway.pk]) for pathway in Pathway.objects.with_graph()]
    return render(request, "athletes/child_placements.html", {"child": child, "ways": ways})


def _way(ladder: Ladder, history: Sequence[Placement]) -> dict[str, Any]:
    current = next((placement for placement in history if placement.ended_at is None), None)
    return {
        "ladder": ladder,
        "lane": _lane(ladder, current),
        "history": history,
        "trouble": trouble_with(current, ladder) if current else "",
    }


def _lane(ladder: Ladder, current: Placement | None) -> PathwayLane:
    stops = [Stop(str(rung.exercise), rung.rank) for rung in ladder.rungs]
    return pathway_lane(ladder.pathway.name, stops, str(current.exercise) if current else None)


@require_http_methods(["GET", "POST"])
@for_coaches
def first_placement(request: Request, public_id: uuid.UUID) -> HttpResponse:
    child = child_or_404(request.user, public_id)
    ladders = [ladder_of(pathway) for pathway in Pathway.objects.with_graph()]
    current = {
        placement.pathway_id: placement for placement in child.placements.current().with_names()
    }
    form = FirstPlacementForm(request.POST or None, ladders=ladders, current=current)
    if request.method == "POST" and form.is_valid() and _place(request, form, child):
        return redirect("athletes:child", child.public_id)
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
