"""Who has an exercise and who did it, for a coach who thinks of taking it back."""

import datetime as dt
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from typing import Final

from django.db.models import Exists, OuterRef, Q

from athletes.models import Child, User
from library.models import Exercise
from library.shared.acting import acting_for_the_program
from program.models import (
    AssignedSession,
    AssignedSessionQuerySet,
    AssignedSlot,
    CompletionState,
    Recall,
    SlotResult,
)
from program.recall.recalling import holding

NOT_DONE: Final = CompletionState.NOT_DONE


@dataclass(frozen=True)
class Holder:
    """A child with the sessions, in the order of days, in which it has or did the exercise."""

    child: Child
    sessions: tuple[AssignedSession, ...]


@dataclass(frozen=True)
class RecallPage:
    """`since` is the first day of what was done; children the user may not see are counted."""

    exercise: Exercise
    user: User
    since: dt.date

    @cached_property
    def recalls(self) -> list[Recall]:
        return list(Recall.objects.of(self.exercise).with_names())

    @property
    def standing(self) -> Recall | None:
        return next((each for each in self.recalls if each.ended_at is None), None)

    @property
    def earlier(self) -> list[Recall]:
        return [each for each in self.recalls if each.ended_at]

    @property
    def _held(self) -> AssignedSessionQuerySet:
        """Without what is closed: nobody can do that."""
        return holding(self.exercise).filter(closed_at=None)

    @cached_property
    def have(self) -> list[Holder]:
        held = self._held.visible_to(self.user)
        return _by_child(list(held.select_related("child").order_by("child", "date", "pk")))

    @cached_property
    def others(self) -> int:
        """How many children of other cohorts have it."""
        with acting_for_the_program():
            everybody = self._held.order_by().values("child").distinct().count()
        return everybody - len(self.have)

    @cached_property
    def did(self) -> list[Holder]:
        """Those who did it, or took it as the easier option, as far as somebody has logged it."""
        not_done = SlotResult.objects.filter(assigned_slot=OuterRef("pk"), state=NOT_DONE)
        easier = SlotResult.objects.filter(assigned_slot=OuterRef("pk"), took_easier=True)
        done = AssignedSlot.objects.filter(
            Q(revision__exercise=self.exercise) & ~Exists(easier)
            | Q(easier_revision__exercise=self.exercise) & Exists(easier),
            ~Exists(not_done),
        )
        logged = AssignedSession.objects.visible_to(self.user).filter(
            completion__isnull=False,
            date__gte=self.since,
            pk__in=done.order_by().values("assigned_session"),
        )
        sessions = logged.exclude(completion__state=NOT_DONE).select_related("child")
        return _by_child(list(sessions.order_by("child", "date", "pk")))


def _by_child(sessions: list[AssignedSession]) -> list[Holder]:
    holders = [Holder(child, tuple(some)) for child, some in groupby(sessions, lambda s: s.child)]
    return sorted(holders, key=lambda holder: str(holder.child))
