import datetime as dt
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from athletes.models import Child
from program.models.undoable import Undoable, UndoableQuerySet

if TYPE_CHECKING:
    from athletes.models import User


TOGETHER: Final = "together"
"""The key in `before` under which those that were answered in one press carry the same text."""


class ResolutionQuerySet(UndoableQuerySet["Resolution"]):
    def visible_to(self, user: "User") -> "ResolutionQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def hiding(self, day: dt.date) -> "ResolutionQuerySet":
        """Those that keep their finding out of every queue on that day."""
        answered = self.standing().filter(to__isnull=True)
        return answered.filter(Q(until__isnull=True) | Q(until__gt=day))

    def handed(self) -> "ResolutionQuerySet":
        """Those by which a finding is with one coach now."""
        return self.standing().filter(to__isnull=False)

    def together_with(self, answer: "Resolution") -> "ResolutionQuerySet":
        """Those given with it in one press, itself among them."""
        together = answer.before.get(TOGETHER)
        return self.filter(before__together=together) if together else self.filter(pk=answer.pk)

    def with_names(self) -> "ResolutionQuerySet":
        return self.select_related("child", "by", "undone_by", "to")


class Resolution(Undoable):
    """How a finding left a coach's queue: who decided what, and when. Kept when taken back.

    With `to` it was only handed on: it is with that coach until somebody answers it or gives it
    back to all.
    """

    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="resolutions")
    finding = models.CharField(max_length=80, help_text="the key of the finding it answers")
    action = models.CharField(max_length=80, help_text="the code of the action taken")
    until = models.DateField(
        null=True, help_text="the day on which the finding may come back; empty for never"
    )
    to = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.CASCADE,
        null=True,
        related_name="+",
        help_text="the coach it was handed to; without that coach it is everybody's again",
    )
    before = models.JSONField(default=dict, help_text="what undoing it needs to know")

    objects = ResolutionQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(name="resolutions_of_a_child", fields=["child", "finding"])]
        constraints = [
            models.UniqueConstraint(
                name="answered_for_good_once",
                fields=["child", "finding"],
                condition=Q(until__isnull=True, undone_at__isnull=True, to__isnull=True),
            ),
            models.UniqueConstraint(
                name="with_one_coach_at_a_time",
                fields=["child", "finding"],
                condition=Q(to__isnull=False, undone_at__isnull=True),
            ),
            models.CheckConstraint(
                name="undone_after_it_was_done",
                condition=Q(undone_at__isnull=True) | Q(undone_at__gte=F("at")),
            ),
        ]


class Kind(StrEnum):
    """What a finding is about, most urgent first."""

    PAIN = "pain"
    QUESTION = "question"
    RESTRICTION = "restriction"
    WAY_BACK = "way_back"
    DECIDE = "decide"
    GROWTH = "growth"
    EFFORT = "effort"
    SPORT = "sport"
    STEP_BACK = "step_back"
    MISSED = "missed"
    SIDES = "sides"
    CHANGED = "changed"
    MOVE_ON = "move_on"
    ADD = "add"
    RATINGS = "ratings"
    MEASURE = "measure"
    FAMILY = "family"
    CONSENT = "consent"


class Do(StrEnum):
    """What can be done about a finding."""

    SEEN = "seen"
    NO_LANDING = "no_landing"
    NO_LOADING = "no_loading"
    NOTHING = "nothing"
    REST = "rest"
    WRONG_CHILD = "wrong_child"
    LIFT = "lift"
    EXTEND = "extend"
    WAY_BACK = "way_back"
    GO_TO = "go_to"
    LIGHTER = "lighter"
    PLACE = "place"
    ADD = "add"
    GENTLY = "gently"
    ANSWER = "answer"
    INVITE_AGAIN = "invite_again"
    LATER = "later"
    HAND = "hand"
    DECLINED = "declined"
    LOOK = "look"
