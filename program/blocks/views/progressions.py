"""What an exercise is meant to do across its block: set, taken away, and followed by the drafts."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from library.models import ExerciseRevision
from library.shared.access import Request, for_coaches
from program.blocks import progressions
from program.blocks.forms.progressions import ProgressionForm
from program.blocks.progressions import Followed, ProgressionLane
from program.blocks.queries import sessions_of
from program.common.loaders import (
    locked_block_or_404,
    locked_board_or_404,
    session_with_slots_or_404,
)
from program.models import Block, Progression, ProgressionKindChoices, Session, Slot

PAGE = "program/blocks/progression.html"


@dataclass(frozen=True)
class ProgressionPage:
    """A slot, and the progressions of the sessions of its name by exercise."""

    session: Session
    slot: Slot
    revision: ExerciseRevision
    by_exercise: dict[int, Progression]

    @property
    def progression(self) -> Progression | None:
        return self.by_exercise.get(self.slot.exercise_id)

    @property
    def wave_of(self) -> str:
        """Whose wave sets the rounds of the slot's part already; "" for nobody's."""
        waves = {
            e: each
            for e, each in self.by_exercise.items()
            if each.kind == ProgressionKindChoices.WAVE
        }
        other = progressions.wave_beside(self.slot, waves)
        return str(other.exercise) if other else ""

    @cached_property
    def lane(self) -> ProgressionLane | None:
        return self._lane_of(self.progression) if self.progression else None

    def preview(self, form: ProgressionForm) -> ProgressionLane:
        """The lane as a valid form would make it; nothing is kept."""
        block = self.session.block
        named = {"block": block, "session_name": self.session.name}
        return self._lane_of(Progression(**named, exercise=self.slot.exercise, **_columns(form)))

    def _lane_of(self, progression: Progression) -> ProgressionLane:
        block = self.session.block
        return progressions.lane_of(progression, block, sessions_of(block))


@require_http_methods(["GET", "POST"])
@for_coaches
def intent(request: Request, session_id: int, slot_id: int) -> HttpResponse:
    """What is meant for a slot's exercise; with `look`, what each week would get of it."""
    page = _page_or_404(request, session_id, slot_id)
    form = ProgressionForm(
        page.slot,
        page.revision,
        page.progression,
        page.wave_of,
        page.session,
        request.POST or None,
    )
    is_looking = "look" in request.POST
    if request.method == "POST" and form.is_valid() and not is_looking:
        followed = _keep(request, page, form)
        messages.success(request, f"{page.slot.exercise}: {form.rule}. {_told(followed)}")
        return redirect("program:block", page.session.block_id)
    preview = page.preview(form) if is_looking and form.is_valid() else None
    context = {"form": form, "page": page, "session": page.session, "preview": preview}
    status = 422 if form.errors else 200
    template = f"{PAGE}#preview" if is_looking and request.htmx else PAGE
    return render(request, template, context, status=status)


@require_POST
@for_coaches
def intent_end(request: Request, session_id: int, slot_id: int) -> HttpResponse:
    page = _page_or_404(request, session_id, slot_id)
    if page.progression is None:
        messages.warning(request, "It has no progression in this block.")
    else:
        with transaction.atomic():
            locked_block_or_404(request.user, page.session.block_id)
            page.progression.delete()
        messages.success(request, f"{page.slot.exercise} stands as written from now on.")
    return redirect("program:block", page.session.block_id)


@require_POST
@for_coaches
def follow(request: Request, block_id: int) -> HttpResponse:
    """Let all drafts of a block follow their progressions."""
    with transaction.atomic():
        followed = _follow(request, locked_board_or_404(request.user, block_id))
    messages.success(request, _told(followed))
    return redirect("program:block", block_id)


def _keep(request: Request, page: ProgressionPage, form: ProgressionForm) -> Followed:
    with transaction.atomic():
        block = locked_board_or_404(request.user, page.session.block_id)
        Progression.objects.update_or_create(
            block=block,
            session_name=page.session.name,
            exercise=page.slot.exercise,
            defaults=_columns(form) | {"by": request.user, "at": timezone.now()},
        )
        return _follow(request, block)


def _columns(form: ProgressionForm) -> dict[str, Any]:
    rule = form.rule
    return {
        "first_week": form.cleaned_data["first_week"],
        "kind": rule.kind.value,
        "start": rule.start,
        "step": rule.step,
        "every": rule.every,
        "top": rule.top,
        "wave": list(rule.wave),
    }


def _follow(request: Request, block: Block) -> Followed:
    return progressions.follow(block, sessions_of(block), request.user, timezone.now())


def _told(followed: Followed) -> str:
    drafts = "1 draft" if followed.changed == 1 else f"{followed.changed} drafts"
    changed = f"{drafts} changed." if followed.changed else "No draft had to change."
    if not followed.stay:
        return changed
    stay = "1 published session stays" if followed.stay == 1 else f"{followed.stay} published stay"
    return f"{changed} {stay} as sent."


def _page_or_404(request: Request, session_id: int, slot_id: int) -> ProgressionPage:
    session = session_with_slots_or_404(request.user, session_id)
    slots = {slot.pk: slot for slot in session.all_slots()}
    slot = slots.get(slot_id)
    if slot is None or slot.exercise.current is None:
        raise Http404
    found = Progression.objects.filter(block=session.block, session_name=session.name)
    by_exercise = {each.exercise_id: each for each in found.select_related("exercise__current")}
    return ProgressionPage(session, slot, slot.exercise.current, by_exercise)
