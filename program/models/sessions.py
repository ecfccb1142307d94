import datetime as dt
from collections.abc import Collection
from typing import TYPE_CHECKING, Final

from django.apps import apps
from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Exists, F, OuterRef, Prefetch, Q

from athletes.models import Child, ChildQuerySet, Cohort
from athletes.models.children import enrolled_on
from library.shared.reasons import in_words
from program.engine.dose.dose import MOST_ROUNDS
from program.engine.prescription import Prescription
from program.engine.weeks import week_end
from program.models.blocks import Block

if TYPE_CHECKING:
    from athletes.models import User


LONGEST_WORD_ON_IT: Final = 120


class Place(models.TextChoices):
    HOME = "home", "at home"
    VENUE = "venue", "at the venue"


class PartKind(models.TextChoices):
    """In the order in which a session is written; see `engine.timeline.PartKind`."""

    WARM_UP = "warm_up", "warm-up"
    STRAIGHT = "straight", "straight sets"
    SUPERSET = "superset", "superset"
    CIRCUIT = "circuit", "circuit"
    COOL_DOWN = "cool_down", "cool-down"

    @property
    def usual_name(self) -> str:
        """What a part of this kind is called; "" where that is for the coach to say."""
        return self.label.capitalize() if self in {self.WARM_UP, self.COOL_DOWN} else ""


class FitRule(models.TextChoices):
    AS_WRITTEN = "as_written", "as written for all"
    EASIER_WHERE_NEEDED = "easier_where_needed", "make it easier where needed"
    MEET_PLACEMENT = "meet_placement", "easier or harder, by placement"


class SessionQuerySet(models.QuerySet["Session"]):
    def visible_to(self, user: "User") -> "SessionQuerySet":
        return self.filter(block__cohort__in=Cohort.objects.visible_to(user))

    def in_week(self, monday: dt.date) -> "SessionQuerySet":
        return self.filter(date__range=(monday, week_end(monday)))

    def lock(self) -> list[int]:
        """Nobody else's to change until the transaction ends; their keys, in the one order in which
        whoever locks several has them."""
        locked = self.select_for_update(of=("self",), no_key=True).order_by("pk")
        return list(locked.values_list("pk", flat=True))

    def taking_place(self) -> "SessionQuerySet":
        """Without those that are called off."""
        return self.filter(called_off_at__isnull=True)

    def held_from(self, children: Collection[int] | ChildQuerySet) -> "SessionQuerySet":
        """Published, taking place, and not sent to one of these children (given by key or as a
        query) who are in its cohort that day: something in it is the coach's to decide. Once for
        each such child, whose key is `held`."""
        enrolment = "block__cohort__enrolments__"
        # By name, because what is sent stands in a module that imports this one.
        sent = apps.get_model("program", "AssignedSession").objects.filter(
            session=OuterRef("pk"), child=OuterRef("held")
        )
        published = self.filter(
            enrolled_on(F("date"), enrolment),
            published_at__isnull=False,
            called_off_at__isnull=True,
            **{f"{enrolment}child__in": children},
        )
        return published.annotate(held=F(f"{enrolment}child")).filter(~Exists(sent))

    def with_slots(self) -> "SessionQuerySet":
        """Sessions with cohort, parts, slots and the exercises' current revisions."""
        slots = Slot.objects.select_related("exercise__current")
        parts = Part.objects.prefetch_related(Prefetch("slots", queryset=slots))
        return self.select_related("block__cohort").prefetch_related(
            Prefetch("parts", queryset=parts)
        )

    def with_plan(self) -> "SessionQuerySet":
        """Sessions with cohort, parts, slots and the exercises' current revisions and needs."""
        slots = Slot.objects.select_related("exercise__current").prefetch_related(
            "exercise__current__needs__items"
        )
        parts = Part.objects.prefetch_related(Prefetch("slots", queryset=slots))
        return self.select_related("block__cohort").prefetch_related(
            Prefetch("parts", queryset=parts)
        )


class Session(models.Model):
    """One written session. `version` rises with every edit, so two coaches notice each other."""

    block = models.ForeignKey(Block, on_delete=models.PROTECT, related_name="sessions")
    name = models.CharField(max_length=80)
    date = models.DateField()
    place = models.CharField(max_length=5, choices=Place, default=Place.HOME)
    target_minutes = models.PositiveSmallIntegerField(default=25)
    note = models.TextField(max_length=1000, blank=True, help_text="a word to the family")
    version = models.PositiveIntegerField(default=1)
    edited_at = models.DateTimeField(auto_now=True)
    edited_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    published_at = models.DateTimeField(null=True, blank=True)
    published_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    published_version = models.PositiveIntegerField(null=True, blank=True)
    published_from = models.CharField(
        max_length=300,
        blank=True,
        help_text="scheme and host of the site, where mails about it lead; empty for no mails",
    )
    goes_out_incomplete = models.BooleanField(
        default=False, help_text="to a child for whom something in it is still to be decided, too"
    )
    form_key = models.UUIDField(
        null=True,
        unique=True,
        editable=False,
        help_text="of the form that made it, which makes one session however often it is sent",
    )
    called_off_at = models.DateTimeField(
        null=True, blank=True, help_text="since when it does not take place"
    )
    called_off_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    called_off_because = models.CharField(
        max_length=LONGEST_WORD_ON_IT, blank=True, help_text="in a few words to the families"
    )

    objects = SessionQuerySet.as_manager()

    class Meta:
        ordering = ["date", "id"]
        constraints = [
            models.CheckConstraint(name="session_has_a_name", condition=~Q(name="")),
            models.CheckConstraint(
                name="session_target_between_5_and_120_minutes",
                condition=Q(target_minutes__range=(5, 120)),
                violation_error_message="A session takes between 5 and 120 minutes.",
            ),
            models.CheckConstraint(
                name="session_place_is_known", condition=Q(place__in=Place.values)
            ),
            models.CheckConstraint(
                name="session_called_off_was_published",
                condition=Q(called_off_at__isnull=True) | Q(published_at__isnull=False),
            ),
            models.CheckConstraint(
                name="session_called_off_because_it_is",
                condition=Q(called_off_because="") | Q(called_off_at__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_published(self) -> bool:
        return self.published_at is not None

    @property
    def is_called_off(self) -> bool:
        """It does not take place, but for whoever has started it."""
        return self.called_off_at is not None

    @property
    def is_edited_since_publishing(self) -> bool:
        return self.is_published and self.published_version != self.version

    def all_slots(self) -> list["Slot"]:
        """Its slots in order, part by part; no query where parts and slots are prefetched."""
        return [slot for part in self.parts.all() for slot in part.slots.all()]


class PartQuerySet(models.QuerySet["Part"]):
    def visible_to(self, user: "User") -> "PartQuerySet":
        return self.filter(session__in=Session.objects.visible_to(user))


class Part(models.Model):
    """An ordered part of a session: a warm-up, a superset, a circuit."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="parts")
    position = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=60)
    kind = models.CharField(max_length=9, choices=PartKind, default=PartKind.STRAIGHT)
    rounds = models.PositiveSmallIntegerField(default=1)
    rest_seconds = models.PositiveSmallIntegerField(
        default=0, help_text="a breather after each round but the last"
    )
    version = models.PositiveIntegerField(default=1)

    objects = PartQuerySet.as_manager()

    class Meta:
        ordering = ["session", "position"]
        constraints = [
            models.UniqueConstraint(
                name="part_position_once",
                fields=["session", "position"],
                deferrable=models.Deferrable.DEFERRED,
            ),
            models.CheckConstraint(
                name="part_has_1_to_10_rounds",
                condition=Q(rounds__range=(1, MOST_ROUNDS)),
                violation_error_message=f"A part has between 1 and {MOST_ROUNDS} rounds.",
            ),
            models.CheckConstraint(
                name="part_rest_at_most_10_minutes",
                condition=Q(rest_seconds__lte=600),
                violation_error_message="A rest is at most 600 seconds.",
            ),
            models.CheckConstraint(
                name="part_kind_is_known", condition=Q(kind__in=PartKind.values)
            ),
        ]

    def __str__(self) -> str:
        return self.name


class SlotQuerySet(models.QuerySet["Slot"]):
    def visible_to(self, user: "User") -> "SlotQuerySet":
        return self.filter(part__in=Part.objects.visible_to(user))


class Slot(models.Model):
    """A place in a part: an exercise with its dose, and how it may move to fit a child."""

    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="slots")
    position = models.PositiveSmallIntegerField()
    exercise = models.ForeignKey("library.Exercise", on_delete=models.PROTECT, related_name="+")
    amount = models.PositiveSmallIntegerField(help_text="in the exercise's measure")
    tempo = models.CharField(max_length=12, blank=True)
    rest_seconds = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="a breather after it; empty leaves it to the block's"
    )
    note = models.CharField(max_length=200, blank=True)
    rule = models.CharField(max_length=20, choices=FitRule, default=FitRule.EASIER_WHERE_NEEDED)
    max_steps_up = models.PositiveSmallIntegerField(default=1)
    version = models.PositiveIntegerField(default=1)

    objects = SlotQuerySet.as_manager()

    class Meta:
        ordering = ["part", "position"]
        constraints = [
            models.UniqueConstraint(
                name="slot_position_once",
                fields=["part", "position"],
                deferrable=models.Deferrable.DEFERRED,
            ),
            models.CheckConstraint(
                name="slot_amount_between_1_and_600",
                condition=Q(amount__range=(1, 600)),
                violation_error_message="An amount lies between 1 and 600.",
            ),
            models.CheckConstraint(
                name="slot_rest_at_most_10_minutes",
                condition=Q(rest_seconds__isnull=True) | Q(rest_seconds__lte=600),
                violation_error_message="A rest is at most 600 seconds.",
            ),
            models.CheckConstraint(
                name="slot_steps_up_at_most_5",
                condition=Q(max_steps_up__lte=5),
                violation_error_message="At most 5 steps up.",
            ),
            models.CheckConstraint(name="slot_rule_is_known", condition=Q(rule__in=FitRule.values)),
        ]

    def __str__(self) -> str:
        return f"slot {self.position}"

    @property
    def prescription(self) -> Prescription:
        return Prescription.of(self)

    @property
    def lands(self) -> bool:
        """Whether its exercise lands, as it is described today."""
        revision = self.exercise.current
        return revision is not None and revision.lands


class OverrideQuerySet(models.QuerySet["Override"]):
    def visible_to(self, user: "User") -> "OverrideQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))


class Override(models.Model):
    """The coach's word for one child in one slot: an exercise, or none to leave the slot out.

    It hangs on the written slot, so it survives publishing again. `because` is why it is given
    although checks said stop, in the sentences of `in_spite_of`; `set_by` and `set_at` are who and
    when.
    """

    slot = models.ForeignKey(Slot, on_delete=models.CASCADE, related_name="overrides")
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="overrides")
    exercise = models.ForeignKey(
        "library.Exercise", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    note = models.CharField(max_length=200, blank=True, help_text="a word to the family")
    in_spite_of = ArrayField(
        models.CharField(max_length=300), default=list, blank=True, help_text="what checks said"
    )
    because = models.CharField(max_length=300, blank=True)
    set_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    set_at = models.DateTimeField(auto_now=True)

    objects = OverrideQuerySet.as_manager()

    class Meta:
        ordering = ["slot", "child"]
        constraints = [
            models.UniqueConstraint(
                name="one_override_per_slot_and_child", fields=["slot", "child"]
            ),
            models.CheckConstraint(
                name="override_in_spite_of_a_stop_has_a_reason",
                condition=Q(in_spite_of=[], because="")
                | (~Q(in_spite_of=[]) & in_words("because")),
            ),
        ]

    def __str__(self) -> str:
        return str(self.exercise) if self.exercise else "left out"
