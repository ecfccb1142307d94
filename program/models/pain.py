import datetime as dt
import uuid
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.contrib.postgres.functions import RandomUUID
from django.db import models
from django.db.models import Count, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.text import capfirst

from athletes.models import Child
from athletes.models.circumstances import REGION_CHOICES, SIDE_CHOICES
from library.body import Region, Side, place_in_words
from library.models import ExerciseRevision
from library.shared.reasons import in_words
from program.engine.pain import Pain, Sign, Symptom, first_to_do
from program.models.assigned import AssignedSession

if TYPE_CHECKING:
    from athletes.models import User

SYMPTOM_CHOICES: Final = [(each.value, each.label) for each in Symptom]
SIGN_CHOICES: Final = [(each.value, each.label) for each in Sign]
PAIN_COLUMNS: Final = ("region", "side", "level", "symptom", "signs")
"""What a report keeps of what the rules ask for, but for the exercise."""
COUNTED: Final = dt.timedelta(weeks=12)
"""How far back reports of one place are counted together."""


class PainReportQuerySet(models.QuerySet["PainReport"]):
    def visible_to(self, user: "User") -> "PainReportQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def standing(self) -> "PainReportQuerySet":
        """Those that were not about another child."""
        return self.filter(taken_back_at__isnull=True)

    def unanswered(self) -> "PainReportQuerySet":
        """Those whose place is spared until a coach answers."""
        return self.standing().filter(answered_at__isnull=True)

    def with_people(self) -> "PainReportQuerySet":
        """With all that a report says of itself."""
        return self.select_related("child", "revision__exercise", "taken_back_by")

    def about(self, children: Iterable[Child]) -> "PainReportQuerySet":
        """Those of these children, the newest first."""
        return self.filter(child__in=[child.pk for child in children]).with_people()

    def warnings(self) -> "PainReportQuerySet":
        """Those that hold every session back."""
        return self.exclude(symptom="", signs=[])

    def for_review(self) -> "PainReportQuerySet":
        """With all that a finding shows; `earlier` counts the child's reports of the same place in
        the twelve weeks before it."""
        before = PainReport.objects.standing().filter(
            child=OuterRef("child"),
            region=OuterRef("region"),
            symptom=OuterRef("symptom"),
            reported_at__lt=OuterRef("reported_at"),
            reported_at__gte=OuterRef("reported_at") - COUNTED,
        )
        counted = before.order_by().values("child").annotate(n=Count("pk")).values("n")
        return self.select_related(
            "child",
            "assigned_session__session__block__cohort",
            "revision__exercise",
            "reported_by",
            "answered_by",
            "taken_back_by",
        ).annotate(earlier=Coalesce(Subquery(counted), 0))

    def answer(self, by: "User", now: dt.datetime) -> int:
        """Who answers a report first is kept; how many were unanswered before."""
        return self.unanswered().update(answered_at=now, answered_by=by)


class PainReport(models.Model):
    """Something hurt or was wrong, as the family says it: a place, or a symptom without one. Never
    a diagnosis. Only erasing the child deletes it."""

    public_id = models.UUIDField(
        default=uuid.uuid4,
        db_default=RandomUUID(),
        unique=True,
        editable=False,
        help_text="made by the form or the phone it comes from: sent twice, it is one report",
    )
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="pain_reports")
    assigned_session = models.ForeignKey(
        AssignedSession,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="pain_reports",
    )
    revision = models.ForeignKey(
        ExerciseRevision,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="the exercise during which it hurt",
    )
    region = models.CharField(max_length=12, choices=REGION_CHOICES, blank=True)
    side = models.CharField(max_length=5, choices=SIDE_CHOICES, default=Side.BOTH.value)
    level = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="1 to 10; empty where nobody said"
    )
    symptom = models.CharField(max_length=10, choices=SYMPTOM_CHOICES, blank=True)
    signs = ArrayField(
        models.CharField(max_length=12, choices=SIGN_CHOICES), default=list, blank=True
    )
    note = models.CharField(max_length=300, blank=True)
    spares = models.BooleanField(
        default=True, help_text="whether its place is spared until answered, as set when reported"
    )
    reported_at = models.DateTimeField()
    reported_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    mailed_at = models.DateTimeField(
        null=True, blank=True, help_text="when a mail to the coaches was written, if any"
    )
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    taken_back_at = models.DateTimeField(null=True, blank=True)
    taken_back_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    taken_back_because = models.CharField(max_length=200, blank=True)

    objects = PainReportQuerySet.as_manager()

    class Meta:
        ordering = ["-reported_at"]
        indexes = [
            models.Index(
                name="unanswered_pain_of_a_child",
                fields=["child"],
                condition=Q(answered_at__isnull=True, taken_back_at__isnull=True),
            )
        ]
        constraints = [
            models.CheckConstraint(
                name="pain_level_between_1_and_10",
                condition=Q(level__isnull=True) | Q(level__range=(1, 10)),
                violation_error_message="How much it hurts runs from 1 to 10.",
            ),
            models.CheckConstraint(
                name="pain_has_a_place_or_a_symptom",
                condition=Q(region__in=[each.value for each in Region], symptom="")
                | Q(region="", symptom__in=[each.value for each in Symptom]),
            ),
            models.CheckConstraint(
                name="pain_side_is_known", condition=Q(side__in=[side.value for side in Side])
            ),
            models.CheckConstraint(
                name="pain_signs_are_known",
                condition=Q(signs__contained_by=[each.value for each in Sign]),
            ),
            models.CheckConstraint(
                name="pain_taken_back_says_why",
                condition=Q(taken_back_at__isnull=True) | in_words("taken_back_because"),
            ),
        ]

    def __str__(self) -> str:
        """ "left knee, 4 of 10" """
        return f"{self.where}, {self.level} of 10" if self.level else self.where

    @property
    def where(self) -> str:
        """ "left knee", or the symptom."""
        if self.symptom:
            return str(self.get_symptom_display())
        return place_in_words(Region(self.region), Side(self.side))

    @property
    def is_unanswered(self) -> bool:
        return self.answered_at is None and self.taken_back_at is None

    @property
    def pain(self) -> Pain:
        """As the rules see it."""
        exercise = self.revision.exercise.slug if self.revision else ""
        said = {name: getattr(self, name) for name in PAIN_COLUMNS}
        return Pain.stored(said | {"exercise": exercise})

    @property
    def nth(self) -> int:
        """Which report of its place it is within twelve weeks, from 1; comes `for_review`."""
        earlier: int = getattr(self, "earlier", 0)
        return earlier + 1

    @property
    def is_urgent(self) -> bool:
        """Whether coaches are told at once; comes `for_review`."""
        return self.pain.is_urgent(self.nth)

    @property
    def wants_reason(self) -> bool:
        """Whether "no change" has to say why; comes `for_review`."""
        return self.pain.wants_reason(self.nth)

    @property
    def first_to_do(self) -> str:
        """What a family does first; "" where the usual caution says enough."""
        return first_to_do(self.pain, self.child.age_on(self.reported_on))

    @property
    def what_it_does(self) -> str:
        """What follows from it until it is answered, for a family: "Left knee: spared until your
        coach has answered"; "" once it is."""
        if not self.is_unanswered:
            return ""
        if self.pain.is_warning:
            return f"{capfirst(self.where)}: every session waits until your coach has answered."
        if self.spares:
            return f"{capfirst(self.where)}: spared until your coach has answered."
        return ""

    @property
    def what_it_does_for_coach(self) -> str:
        return self.what_it_does.replace("your coach has", "you have")

    @property
    def became(self) -> str:
        """What a coach made of it, within a sentence; comes `for_review`."""
        if self.taken_back_at:
            by = self.taken_back_by or "somebody who has left"
            return f"not about this child, says {by}: “{self.taken_back_because}”"
        if self.answered_at:
            by = f" by {self.answered_by}" if self.answered_by else ""
            return f"answered{by}, {date_format(timezone.localtime(self.answered_at), 'j F, H:i')}"
        return "not answered yet"

    @property
    def signs_in_words(self) -> list[str]:
        return [Sign(each).label for each in self.signs]

    @property
    def reported_on(self) -> dt.date:
        return timezone.localtime(self.reported_at).date()
