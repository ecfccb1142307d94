import datetime as dt
import uuid
from collections.abc import Collection
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from django.apps import apps
from django.conf import settings
from django.db import models
from django.db.models import Case, Exists, OuterRef, Prefetch, Q, Value, When
from django.utils import timezone

from athletes.models import Child, Cohort, Enrolment
from athletes.models.consents import FamilyAnswers, answers_in_json
from library.models import ExerciseRevision
from program.engine.attendance import CouldNot
from program.engine.prescription import Prescription
from program.engine.weeks import week_end
from program.models.pauses import Pauses
from program.models.sessions import PartKind, Place, Session

if TYPE_CHECKING:
    from athletes.models import User


class Outcome(models.TextChoices):
    """What fit did with a slot for one child."""

    AS_WRITTEN = "as_written", "as written"
    EASIER = "easier", "easier"
    HARDER = "harder", "harder"
    OTHER = "other", "other"
    COACH_CHOICE = "coach_choice", "the coach's choice"


DAYS_A_LOG_MAY_BE_LATE: Final = 7
"""After a child's last day in the cohort: its last session is often logged the day after, from a
tablet that had no network. A house rule."""

TOUCHED: Final = Q(started_at__isnull=False) | Q(completion__isnull=False)


class AssignedSessionQuerySet(models.QuerySet["AssignedSession"]):
    def visible_to(self, user: "User") -> "AssignedSessionQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def remembered_by(self, user: "User") -> "AssignedSessionQuerySet":
        """Those, and what a coach's own cohorts did with children who have left them since the
        program's limit: to be read, and not to be written."""
        return self._also_of_own_cohorts(user, Child.objects.remembered_by(user))

    def logged_with_group_by(self, user: "User") -> "AssignedSessionQuerySet":
        """Those a coach logs in the hall: of whoever has left the cohort, too, for as many days as
        a log may come late."""
        lately = Enrolment.objects.coached_by(user, days_after=DAYS_A_LOG_MAY_BE_LATE)
        return self._also_of_own_cohorts(user, lately.values("child"))

    def _also_of_own_cohorts(
        self, user: "User", children: "models.QuerySet[Any, Any]"
    ) -> "AssignedSessionQuerySet":
        """Those of visible children, and what an own cohort did with these."""
        own = Q(session__block__cohort__in=Cohort.objects.visible_to(user), child__in=children)
        return self.filter(Q(child__in=Child.objects.visible_to(user)) | own)

    def with_may_write(self, user: "User") -> "AssignedSessionQuerySet":
        """Each with `may_write`: whether it is this person's to log, too."""
        child = Child.objects.visible_to(user).filter(pk=OuterRef("child"))
        return self.annotate(may_write=Exists(child))

    def in_week(self, monday: dt.date) -> "AssignedSessionQuerySet":
        return self.filter(date__range=(monday, week_end(monday)))

    def untouched(self) -> "AssignedSessionQuerySet":
        """Those no child has started or logged, which publishing again may replace."""
        return self.filter(started_at__isnull=True, completion__isnull=True)

    def touched(self) -> "AssignedSessionQuerySet":
        """The others, which are the child's."""
        return self.filter(TOUCHED)

    def open(self) -> "AssignedSessionQuerySet":
        """Those that may be done: without those being chosen anew, and those called off."""
        return self.filter(TOUCHED | Q(closed_at__isnull=True)).taking_place()

    def taking_place(self) -> "AssignedSessionQuerySet":
        """Without those called off. What a child has started stays."""
        return self.filter(TOUCHED | Q(session__called_off_at__isnull=True))

    def holding(self, exercises: Collection[int]) -> "AssignedSessionQuerySet":
        """Those with some of these exercises, by key, given or as the easier option."""
        given = Q(slots__revision__exercise__in=exercises)
        easier = Q(slots__easier_revision__exercise__in=exercises)
        found = AssignedSession.objects.filter(given | easier).order_by()
        return self.filter(pk__in=found.values("pk"))

    def with_noted(self) -> "AssignedSessionQuerySet":
        """Each with `noted`: whether the hall's log speaks of its child from before it had it."""
        # By name, because the notes stand in a module that imports this one.
        notes = apps.get_model("program", "Attendance").objects.filter(
            session=OuterRef("session"), child=OuterRef("child")
        )
        return self.annotate(noted=Exists(notes))

    def with_could_not(self) -> "AssignedSessionQuerySet":
        """With why each could not be expected of its child, as `engine.attendance.CouldNot`."""
        # By name, because breaks stand in a module beside this one.
        meant = Q(cohort=None) | Q(cohort=OuterRef("session__block__cohort"))
        breaks = apps.get_model("program", "Break").objects.filter(
            meant, first__lte=OuterRef("date"), last__gte=OuterRef("date")
        )
        return self.with_noted().annotate(
            could_not=Case(
                When(
                    Q(session__called_off_at__isnull=False), then=Value(CouldNot.CALLED_OFF.value)
                ),
                When(Q(closed_at__isnull=False), then=Value(CouldNot.HELD_BACK.value)),
                When(Exists(breaks), then=Value(CouldNot.BREAK.value)),
                When(noted=True, then=Value(CouldNot.NOTED.value)),
                default=Value(CouldNot.NO.value),
            )
        )

    def with_agreements(self) -> "AssignedSessionQuerySet":
        """With what the child's family agrees to, for `agreements`."""
        return self.annotate(family_answers=answers_in_json(timezone.localdate(), "child"))

    def with_slots(self) -> "AssignedSessionQuerySet":
        """Everything needed to read, do or print a session, in a fixed number of queries."""
        slots = AssignedSlot.objects.select_related(
            "revision__exercise", "easier_revision__exercise"
        )
        return self.select_related("child", "session__block__cohort").prefetch_related(
            Prefetch("slots", queryset=slots.prefetch_related("revision__needs__items"))
        )

    def with_log(self) -> "AssignedSessionQuerySet":
        # By name, because what hurts stands in a module that imports this one.
        reports = apps.get_model("program", "PainReport").objects.with_people()
        return self.select_related(
            "completion", "completion__logged_by", "completion__edited_by"
        ).prefetch_related("completion__results", Prefetch("pain_reports", queryset=reports))


class AssignedSession(Pauses):
    """What one child got, frozen when it was published."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(Session, on_delete=models.PROTECT, related_name="assigned")
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="assigned")
    name = models.CharField(max_length=80)
    date = models.DateField()
    place = models.CharField(max_length=5, choices=Place)
    note = models.TextField(max_length=1000, blank=True)
    seconds = models.PositiveIntegerField(help_text="by the timeline, when published")
    published_at = models.DateTimeField()
    published_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    fingerprint = models.CharField(
        max_length=64, help_text="of all that the family sees; equal means nothing to republish"
    )
    to_come = models.PositiveSmallIntegerField(
        default=0, help_text="exercises that the coach has still to choose"
    )
    started_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(
        null=True,
        blank=True,
        help_text="since when it is known that the child may not do it; it is being chosen anew",
    )

    objects = AssignedSessionQuerySet.as_manager()

    class Meta:
        ordering = ["date", "id"]
        indexes = [models.Index(name="assigned_by_child_and_date", fields=["child", "date"])]
        constraints = [
            *Pauses.Meta.constraints,
            models.UniqueConstraint(name="session_once_per_child", fields=["session", "child"]),
            models.CheckConstraint(
                name="assigned_place_is_known", condition=Q(place__in=Place.values)
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @cached_property
    def agreements(self) -> FamilyAnswers:
        """What the family agrees to; nothing unless it was fetched `with_agreements()`."""
        return FamilyAnswers.said(getattr(self, "family_answers", ()))

    @property
    def is_touched(self) -> bool:
        """Whether the child has started or logged it; asks nothing where `completion` is there."""
        return self.started_at is not None or hasattr(self, "completion")

    @property
    def is_closed(self) -> bool:
        """Not to be done until it is chosen anew. What has been started is the child's."""
        return self.closed_at is not None and not self.is_touched

    @property
    def is_called_off(self) -> bool:
        """It does not take place. What has been started is the child's. Comes with its
        `session`."""
        return self.session.is_called_off and not self.is_touched

    @property
    def may_be_done(self) -> bool:
        """Comes with its `session`."""
        return not self.is_closed and not self.is_called_off

    @property
    def mark(self) -> str:
        """What somebody saw of it and its log; it changes with either."""
        log = getattr(self, "completion", None)
        moment = (log.edited_at or log.logged_at).isoformat() if log else ""
        return f"{self.fingerprint}|{moment}"


class AssignedSlotQuerySet(models.QuerySet["AssignedSlot"]):
    def visible_to(self, user: "User") -> "AssignedSlotQuerySet":
        return self.filter(assigned_session__in=AssignedSession.objects.visible_to(user))

    def remembered_by(self, user: "User") -> "AssignedSlotQuerySet":
        return self.filter(assigned_session__in=AssignedSession.objects.remembered_by(user))


class AssignedSlot(models.Model):
    """One exercise a child got: an immutable revision, the dose, the easier option, the reasons.

    The part it stands in is kept beside it, so that editing the written session changes nothing.
    """

    assigned_session = models.ForeignKey(
        AssignedSession, on_delete=models.CASCADE, related_name="slots"
    )
    written_slot = models.ForeignKey(
        "program.Slot", on_delete=models.SET_NULL, null=True, related_name="assigned"
    )
    part_position = models.PositiveSmallIntegerField()
    part_name = models.CharField(max_length=60)
    part_kind = models.CharField(max_length=9, choices=PartKind)
    rounds = models.PositiveSmallIntegerField()
    part_rest_seconds = models.PositiveSmallIntegerField()
    position = models.PositiveSmallIntegerField()
    revision = models.ForeignKey(ExerciseRevision, on_delete=models.PROTECT, related_name="+")
    amount = models.PositiveSmallIntegerField()
    tempo = models.CharField(max_length=12, blank=True)
    rest_seconds = models.PositiveSmallIntegerField(null=True)
    note = models.CharField(max_length=200, blank=True)
    outcome = models.CharField(max_length=12, choices=Outcome, default=Outcome.AS_WRITTEN)
    reasons = models.JSONField(default=list, help_text="machine-readable, as the fit engine says")
    easier_revision = models.ForeignKey(
        ExerciseRevision, on_delete=models.PROTECT, null=True, related_name="+"
    )
    easier_amount = models.PositiveSmallIntegerField(null=True)
    easier_tempo = models.CharField(max_length=12, blank=True)

    objects = AssignedSlotQuerySet.as_manager()

    class Meta:
        ordering = ["assigned_session", "part_position", "position"]
        constraints = [
            models.UniqueConstraint(
                name="assigned_slot_place_once",
                fields=["assigned_session", "part_position", "position"],
            ),
            models.CheckConstraint(
                name="assigned_amount_between_1_and_600", condition=Q(amount__range=(1, 600))
            ),
            models.CheckConstraint(
                name="easier_option_has_an_amount",
                condition=Q(easier_revision__isnull=True) | Q(easier_amount__range=(1, 600)),
            ),
            models.CheckConstraint(
                name="assigned_part_kind_is_known", condition=Q(part_kind__in=PartKind.values)
            ),
            models.CheckConstraint(
                name="outcome_is_known", condition=Q(outcome__in=Outcome.values)
            ),
        ]

    def __str__(self) -> str:
        return self.revision.name

    @property
    def prescription(self) -> Prescription:
        return Prescription.of(self)
