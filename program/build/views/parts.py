"""The builder's parts and slots: added, typed into, moved, doubled, taken out.

Every view locks the session, looks the row up through it, changes it, and answers with what the
coach sees next.
"""

from copy import copy
from typing import Literal

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django_htmx.http import reswap, retarget

from library.models import Exercise
from library.shared.access import Request, for_coaches
from library.shared.already_deleted import already_deleted_message, answered_if_already_deleted
from library.shared.ids import whole_number
from program.build import editing, undoing
from program.build.forms import PartForm, SlotForm
from program.build.page import Found, find_exercises
from program.build.responses import answer, builder_of, show
from program.common.edit_conflicts import is_unseen
from program.common.idempotency import already_done
from program.common.loaders import part_in_or_404, session_or_404, slot_in_or_404
from program.models import Part, PartKind, Session, Slot

CHANGED_MEANWHILE = (
    "Somebody changed this since you saw it. Here it is as it stands now; take it out again if "
    "you still want to."
)
DIRECTIONS: dict[str, editing.Direction] = {"up": -1, "down": 1}


@require_POST
@for_coaches
def part_new(request: Request, session_id: int) -> HttpResponse:
    kind = request.POST.get("kind", "")
    if kind not in PartKind.values:
        raise BadRequest(f"A part is one of {', '.join(PartKind.labels)}.")
    focus = ""
    with editing.editing(request, session_id) as session:
        if already_done(request, kind):
            raise editing.Unchanged
        focus = f"part-{editing.add_part(session, PartKind(kind)).pk}"
    return answer(request, session_id, focus=focus)


@require_http_methods(["GET", "POST"])
@for_coaches
def part(request: Request, session_id: int, part_id: int) -> HttpResponse:
    """A part's own line; posting saves it in place."""
    if request.method == "GET":
        part_in_or_404(session_or_404(request.user, session_id), part_id)
        return _row(request, session_id, part_id, "part")
    with editing.editing(request, session_id) as session:
        row = part_in_or_404(session, part_id)
        form = PartForm(request.POST, instance=copy(row))
        editing.save_in_place(row, form)
    return _saved(request, session_id, part_id, form, "part")


@require_http_methods(["GET", "POST"])
@for_coaches
def slot(request: Request, session_id: int, slot_id: int) -> HttpResponse:
    """A slot's line with its dose; posting saves it in place."""
    if request.method == "GET":
        slot_in_or_404(session_or_404(request.user, session_id), slot_id)
        return _row(request, session_id, slot_id, "slot")
    with editing.editing(request, session_id) as session:
        row = slot_in_or_404(session, slot_id)
        form = SlotForm(request.POST, instance=copy(row), revision=row.exercise.current)
        editing.save_in_place(row, form)
    return _saved(request, session_id, slot_id, form, "slot")


@require_GET
@for_coaches
def find(request: Request, session_id: int, part_id: int) -> HttpResponse:
    """Exercises to add to a part, as they are typed."""
    q = request.GET.get("q", "").replace("\0", "").strip()[:80]
    found = find_exercises(q) if q else Found("", [])
    builder = builder_of(request, session_id, found={f"part-{part_id}": found})
    part_in_or_404(builder.session, part_id)
    if request.htmx:
        return show(request, builder, "found.html", sheet=builder.sheet_of(part_id))
    return show(request, builder)


@require_POST
@for_coaches
def slot_new(request: Request, session_id: int, part_id: int) -> HttpResponse:
    part_in_or_404(session_or_404(request.user, session_id), part_id)
    exercise = _exercise(request.POST.get("exercise", ""))
    if refusal := _refusal(exercise):
        found = {f"part-{part_id}": Found("", [], refusal)}
        return answer(request, session_id, 422, found=found)
    with editing.editing(request, session_id) as session:
        row = part_in_or_404(session, part_id)
        if exercise is None or already_done(request, exercise.pk):
            raise editing.Unchanged
        editing.add_slot(row, exercise)
    return answer(request, session_id)


def _exercise(text: str) -> Exercise | None:
    exercises = Exercise.objects.select_related("current")
    return exercises.filter(pk=whole_number(text) or 0).first()


def _refusal(exercise: Exercise | None) -> str:
    if exercise is None:
        return "Choose an exercise from the list."
    if not exercise.is_published:
        return f"{exercise} is not published, so it cannot go into a session."
    return ""


@require_POST
@for_coaches
def part_move(request: Request, session_id: int, part_id: int) -> HttpResponse:
    """One place up or down (`way`), or before another part (`before`), last where that is empty."""
    with editing.editing(request, session_id) as session:
        row = part_in_or_404(session, part_id)
        if direction := _direction(request):
            editing.nudge_part(row, direction)
        else:
            before = request.POST.get("before", "")
            editing.move_part(row, part_in_or_404(session, _id(before)) if before else None)
    return answer(request, session_id)


@require_POST
@for_coaches
def slot_move(request: Request, session_id: int, slot_id: int) -> HttpResponse:
    """One place up or down (`way`), or into a `part`, `before` a slot or last."""
    with editing.editing(request, session_id) as session:
        row = slot_in_or_404(session, slot_id)
        if direction := _direction(request):
            editing.nudge_slot(row, direction)
        else:
            before = request.POST.get("before", "")
            editing.move_slot(
                row,
                part_in_or_404(session, _id(request.POST.get("part", ""))),
                slot_in_or_404(session, _id(before)) if before else None,
            )
    return answer(request, session_id)


def _direction(request: Request) -> editing.Direction | None:
    return DIRECTIONS.get(request.POST.get("way", ""))


def _id(text: str) -> int:
    number = whole_number(text)
    if number is None:
        raise BadRequest("An id is a number.")
    return number


@require_POST
@for_coaches
def part_duplicate(request: Request, session_id: int, part_id: int) -> HttpResponse:
    with editing.editing(request, session_id) as session:
        row = part_in_or_404(session, part_id)
        if already_done(request):
            raise editing.Unchanged
        editing.duplicate_part(row)
    return answer(request, session_id)


@require_POST
@for_coaches
def slot_duplicate(request: Request, session_id: int, slot_id: int) -> HttpResponse:
    with editing.editing(request, session_id) as session:
        row = slot_in_or_404(session, slot_id)
        if already_done(request):
            raise editing.Unchanged
        editing.duplicate_slot(row)
    return answer(request, session_id)


def _row_was_gone(request: Request, name: str, session_id: int, row_id: int) -> HttpResponse:
    session_or_404(request.user, session_id)
    if request.htmx:
        return answer(request, session_id, said=already_deleted_message(name))
    messages.info(request, already_deleted_message(name))
    return redirect("program:build", session_id)


@require_POST
@for_coaches
@answered_if_already_deleted(Part.objects.all, _row_was_gone)
def part_take_out(request: Request, session_id: int, part_id: int) -> HttpResponse:
    deleted: list[undoing.Deleted] = []
    with editing.editing(request, session_id, deleted=deleted) as session:
        row = part_in_or_404(session, part_id)
        # A part goes with all its slots, so nothing in the session may have changed unseen.
        if is_unseen(request.POST.get("session_version"), session.version):
            raise editing.Unchanged
        deleted.append(undoing.delete_part(row))
    return _without(request, session_id, deleted, f"part-{part_id}")


@require_POST
@for_coaches
@answered_if_already_deleted(Slot.objects.all, _row_was_gone)
def slot_take_out(request: Request, session_id: int, slot_id: int) -> HttpResponse:
    deleted: list[undoing.Deleted] = []
    with editing.editing(request, session_id, deleted=deleted) as session:
        row = slot_in_or_404(session, slot_id)
        if is_unseen(request.POST.get("version"), row.version):
            raise editing.Unchanged
        deleted.append(undoing.delete_slot(row))
    return _without(request, session_id, deleted, f"slot-{slot_id}")


def _without(
    request: Request, session_id: int, deleted: list[undoing.Deleted], key: str
) -> HttpResponse:
    if not deleted:
        return answer(request, session_id, 409, warnings={key: CHANGED_MEANWHILE})
    return answer(request, session_id, focus=key)


def _row(
    request: Request, session_id: int, row_id: int, kind: Literal["part", "slot"]
) -> HttpResponse:
    """One line as it is stored, for whoever takes theirs."""
    if not request.htmx:
        return redirect("program:build", session_id)
    builder = builder_of(request, session_id)
    if kind == "part":
        return show(request, builder, "part_line.html", sheet=builder.sheet_of(row_id))
    return show(request, builder, "slot_line.html", row=builder.row_of(row_id))


def _saved(
    request: Request,
    session_id: int,
    row_id: int,
    form: PartForm | SlotForm,
    kind: Literal["part", "slot"],
) -> HttpResponse:
    status = 422 if form.errors else 409 if form.conflicts else 200
    if status == 200 and not request.htmx:
        return redirect("program:build", session_id)
    forms = {} if status == 200 else {f"{kind}-{row_id}": form}
    builder = builder_of(request, session_id, forms=forms)
    if not request.htmx:
        return show(request, builder, status=status)
    if status == 200 and not _is_caught_up(request, builder.session, form):
        # Another coach has been here too: show everything as it is now, not this line alone.
        return reswap(retarget(show(request, builder, "answers.html#parts"), "#parts"), "outerHTML")
    if kind == "part":
        sheet = builder.sheet_of(row_id)
        return show(request, builder, "answers.html#part", status, sheet=sheet)
    return show(request, builder, "answers.html#slot", status, row=builder.row_of(row_id))


def _is_caught_up(request: Request, session: Session, form: PartForm | SlotForm) -> bool:
    """Whether the page shows all there is, this save aside."""
    before = session.version - 1 if form.is_written else session.version
    return not is_unseen(request.POST.get("session_version"), before)
