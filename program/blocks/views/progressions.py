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
from program.blocks.forms.progressions import IntentForm
from program.blocks.progressions import Followed, IntentLane
from program.blocks.queries import sessions_of
from program.common.loaders import locked_board_or_404, session_with_slots_or_404
from program.engine.progression import Intent
from program.models import Block, IntentKind, Progression, Session, Slot

PAGE = "program/blocks/progression.html"


@dataclass(frozen=True)
class _Meant:
    """A slot, and the intents of the sessions of its name by exercise."""

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
        waves = {e: each for e, each in self.by_exercise.items() if each.kind == IntentKind.WAVE}
        other = progressions.wave_beside(self.slot, waves)
        return str(other.exercise) if other else ""

    @cached_property
    def lane(self) -> IntentLane | None:
        return self._lane_of(self.progression) if self.progression else None

    def would_be(self, means: Intent) -> IntentLane:
        """The lane as this intent would make it; nothing is kept."""
        block = self.session.block
        named = {"block": block, "session_name": self.session.name}
        return self._lane_of(Progression(**named, exercise=self.slot.exercise, **_columns(means)))

    def _lane_of(self, progression: Progression) -> IntentLane:
        block = self.session.block
        return progressions.lane_of(progression, block, sessions_of(block))


@require_http_methods(["GET", "POST"])
@for_coaches
def intent(request: Request, session_id: int, slot_id: int) -> HttpResponse:
    """What is meant for a slot's exercise; with `look`, what each week would get of it."""
    meant = _meant_or_404(request, session_id, slot_id)
    form = IntentForm(
        meant.slot, meant.revision, meant.progression, meant.wave_of, request.POST or None
    )
    is_looking = "look" in request.POST
    if request.method == "POST" and form.is_valid() and not is_looking:
        followed = _mean(request, meant, form.intent)
        messages.success(request, f"{meant.slot.exercise}: {form.intent}. {_told(followed)}")
        return redirect("program:block", meant.session.block_id)
    would_be = meant.would_be(form.intent) if is_looking and form.is_valid() else None
    context = {"form": form, "meant": meant, "session": meant.session, "would_be": would_be}
    status = 422 if form.errors else 200
    page = f"{PAGE}#preview" if is_looking and request.htmx else PAGE
    return render(request, page, context, status=status)


@require_POST
@for_coaches
def intent_end(request: Request, session_id: int, slot_id: int) -> HttpResponse:
    meant = _meant_or_404(request, session_id, slot_id)
    if meant.progression is None:
        messages.warning(request, "Nothing was meant for it across the block.")
    else:
        meant.progression.delete()
        messages.success(request, f"{meant.slot.exercise} stands as written from now on.")
    return redirect("program:block", meant.session.block_id)


@require_POST
@for_coaches
def follow(request: Request, block_id: int) -> HttpResponse:
    """Let all drafts of a block say what is meant."""
    with transaction.atomic():
        followed = _follow(request, locked_board_or_404(request.user, block_id))
    messages.success(request, _told(followed))
    return redirect("program:block", block_id)


def _mean(request: Request, meant: _Meant, means: Intent) -> Followed:
    with transaction.atomic():
        block = locked_board_or_404(request.user, meant.session.block_id)
        Progression.objects.update_or_create(
            block=block,
            session_name=meant.session.name,
            exercise=meant.slot.exercise,
            defaults=_columns(means) | {"by": request.user, "at": timezone.now()},
        )
        return _follow(request, block)


def _columns(means: Intent) -> dict[str, Any]:
    return {
        "kind": means.kind.value,
        "start": means.start,
        "step": means.step,
        "every": means.every,
        "top": means.top,
        "wave": list(means.wave),
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


def _meant_or_404(request: Request, session_id: int, slot_id: int) -> _Meant:
    session = session_with_slots_or_404(request.user, session_id)
    slots = {slot.pk: slot for slot in session.all_slots()}
    slot = slots.get(slot_id)
    if slot is None or slot.exercise.current is None:
        raise Http404
    found = Progression.objects.filter(block=session.block, session_name=session.name)
    by_exercise = {each.exercise_id: each for each in found.select_related("exercise__current")}
    return _Meant(session, slot, slot.exercise.current, by_exercise)
