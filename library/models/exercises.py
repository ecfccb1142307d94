import re
from functools import cached_property
from typing import Any

from django.contrib.postgres.fields import ArrayField
from django.contrib.postgres.indexes import GinIndex
from django.contrib.postgres.search import (
    SearchQuery,
    SearchRank,
    SearchVector,
    SearchVectorField,
    TrigramSimilarity,
    TrigramWordSimilarity,
)
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Case, Exists, F, OuterRef, Q, When
from django.db.models.functions import Concat, Greatest

from library.body import Region
from library.landing import (
    CATCHES_A_LANDING,
    LANDING_PATTERNS,
    ContactClass,
    Unsaid,
    class_counted,
    contacts_counted,
    unsaid,
)
from library.models.items import Item
from library.shared.reasons import in_words
from library.shared.uploads.keeping import upload_field, upload_name_is_ours
from library.tempo import IN_WORDS, TEMPO


class Pattern(models.TextChoices):
    SQUAT = "squat", "squat"
    SINGLE_LEG = "single_leg", "single leg"
    HINGE = "hinge", "hinge"
    HAMSTRING_SLIDE = "hamstring_slide", "hamstring slide"
    PUSH = "push", "push"
    PULL = "pull", "pull"
    FRONT_BRACE = "front_brace", "front brace"
    SIDE_BRACE = "side_brace", "side brace and adductor"
    CRAWL = "crawl", "crawl"
    JUMP = "jump", "jump"
    LAND = "land", "land"
    SKIP = "skip", "skip and rhythm"
    CALF_ANKLE = "calf_ankle", "calf and ankle"
    MOBILITY = "mobility", "mobility"


class Sides(models.TextChoices):
    BOTH = "both", "both sides together"
    EACH = "each", "each side"
    ALTERNATING = "alternating", "alternating"


def lands(revision: str) -> Q:
    """Whether a revision, by the way to it, as "current__", counts as landing, by its number or by
    its pattern: what `library.landing` says of one exercise, for the database."""
    by_pattern = {f"{revision}pattern__in": LANDING, f"{revision}no_landing_because": ""}
    return Q(**{f"{revision}contacts__gt": 0}) | Q(**by_pattern)


class Measure(models.TextChoices):
    REPETITIONS = "repetitions", "repetitions"
    SECONDS = "seconds", "seconds"
    METRES = "metres", "metres"


# The word similarity from which a name is compared letter by letter. Over every single typing error
# in the words of the starter library (2,598 of them, of four letters or more) it fell to 0.20, and
# nothing was missed; taken alone as the measure of a match, at 0.4, it missed one in six.
WORTH_COMPARING = 0.15
LONGEST_SET_UP = 600  # seconds
LONGEST_WORD = 40  # letters; Postgres compares no words beyond 255
MOST_OTHER_NAMES = 8
LONGEST_OTHER_NAME = 40  # letters
REGIONS = [region.value for region in Region]
LANDING = sorted(LANDING_PATTERNS)
# What the database can see of a movement; the rest is `library.figures.movement`'s to check.
TWO_POSES_AND_A_PHASE = r"^title = .*\n\[pose\..*\n\[pose\..*\n\[\[phase\]\]\nname = .*\nseconds = "


class OtherNames(models.Func):
    """All other names of a revision, by the way to it, as one text."""

    function = "array_to_string"
    output_field = models.TextField()

    def __init__(self, names: str) -> None:
        super().__init__(F(names), models.Value(" "))


class NearestName(models.Func):
    """How like a text as a whole is to the nearest of a revision's other names, from 0 to 1."""

    function = "library_nearest_name"
    output_field = models.FloatField()


class Likeness(models.Func):
    """How like the words of a search are to some names and a movement pattern, from 0 to 1."""

    function = "library_likeness"
    output_field = models.FloatField()

    def __init__(self, name: Concat, pattern: F, *, text: str) -> None:
        words = re.findall(r"[^\W_]+", text.lower())
        # "up" or "on" is no reason to miss an exercise, unless nothing else is sought.
        telling = [word for word in words if len(word) > 2] or words
        shortened = [word[:LONGEST_WORD] for word in telling]
        sought = models.Value(shortened, output_field=ArrayField(models.TextField()))
        super().__init__(sought, name, pattern)


class ExerciseQuerySet(models.QuerySet["Exercise"]):
    def published(self) -> "ExerciseQuerySet":
        return self.filter(status=Exercise.Status.PUBLISHED)

    def with_current(self) -> "ExerciseQuerySet":
        """Each exercise with the revision that is current, and only those that have one."""
        return self.filter(current__isnull=False).select_related("current")

    def needing_nothing(self) -> "ExerciseQuerySet":
        return self.filter(current__needs__isnull=True)

    def needing_only_room(self) -> "ExerciseQuerySet":
        """Exercises for which nothing has to be fetched: a floor and clear space are enough."""
        room = [Item.Kind.FLOOR, Item.Kind.SPACE]
        met_by_things = Need.objects.filter(revision=OuterRef("current")).exclude(
            items__kind__in=room
        )
        return self.filter(~Exists(met_by_things))

    def that_use(self, item: Item) -> "ExerciseQuerySet":
        """Exercises in which the item meets a need, alone or among others that would."""
        return self.filter(Exists(Need.objects.filter(revision=OuterRef("current"), items=item)))

    def search(self, text: str) -> "ExerciseQuerySet":
        """Exercises of a like name or pattern, then those that say these words; best first, and of
        those that are as good the one that is called so before one that is also called so.

        Names are found in spite of typing errors, as `library_likeness` in the database counts
        them; what an exercise says is found in any of a word's English forms.
        """
        if not text.strip():
            return self.order_by("current__name")
        query = SearchQuery(text, config="english", search_type="websearch")
        space, words = models.Value(" "), models.TextField()
        other_names = OtherNames("current__other_names")
        names = Concat("current__name", space, other_names, output_field=words)
        named = Concat(names, space, "current__pattern", output_field=words)
        return (
            self.alias(
                near=TrigramWordSimilarity(text, named),
                rank=SearchRank("current__search", query),
                whole=Greatest(
                    TrigramSimilarity("current__name", text),
                    0.9 * NearestName(models.Value(text), F("current__other_names")),
                ),
            )
            .annotate(
                likeness=Case(
                    When(
                        near__gte=WORTH_COMPARING,
                        then=Likeness(names, F("current__pattern"), text=text),
                    ),
                    default=0.0,
                )
            )
            .filter(Q(current__search=query) | Q(likeness__gt=0))
            .order_by("-likeness", (F("rank") + F("whole")).desc(), "current__name")
        )

    def with_full_page(self) -> "ExerciseQuerySet":
        """Everything an exercise's own page shows, in a fixed number of queries."""
        return self.with_current().prefetch_related("current__needs__items")


class Exercise(models.Model):
    """One thing to do. What it says lives in revisions; the exercise is their lasting identity."""

    class Status(models.TextChoices):
        DRAFT = "draft", "draft"
        PUBLISHED = "published", "published"
        RETIRED = "retired", "retired"

    slug = models.SlugField(max_length=80, unique=True)
    status = models.CharField(max_length=9, choices=Status, default=Status.DRAFT)
    current = models.ForeignKey(
        "ExerciseRevision", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects = ExerciseQuerySet.as_manager()

    class Meta:
        ordering = ["slug"]
        constraints = [
            models.CheckConstraint(
                name="published_exercise_has_a_current_revision",
                condition=~Q(status="published") | Q(current__isnull=False),
            )
        ]

    def __str__(self) -> str:
        return self.current.name if self.current else self.slug

    @property
    def is_published(self) -> bool:
        """Whether it may be written into sessions and children be placed on it."""
        return self.status == self.Status.PUBLISHED


class ExerciseRevision(models.Model):
    """What an exercise said at one moment. A database trigger keeps it from ever changing."""

    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField()
    name = models.CharField(max_length=80)
    other_names = ArrayField(
        models.CharField(max_length=LONGEST_OTHER_NAME),
        default=list,
        db_default=[],
        blank=True,
        help_text="what else coaches call it or look for it by, in any language",
    )
    pattern = models.CharField(max_length=20, choices=Pattern)
    sides = models.CharField(max_length=11, choices=Sides)
    measure = models.CharField(max_length=11, choices=Measure)
    usual = models.PositiveSmallIntegerField(help_text="the usual dose, in the measure's unit")
    low = models.PositiveSmallIntegerField(help_text="the least that makes sense")
    high = models.PositiveSmallIntegerField(help_text="the most for a child")
    tempo = models.CharField(
        max_length=12,
        blank=True,
        help_text="lowering-pause-lifting-pause in seconds, X is fast",
        validators=[RegexValidator(TEMPO, IN_WORDS)],
    )
    plain = models.CharField(max_length=200, help_text="one sentence a parent understands")
    setup = models.TextField(max_length=600)
    setup_seconds = models.PositiveSmallIntegerField(
        default=0,
        db_default=0,
        validators=[MaxValueValidator(LONGEST_SET_UP)],
        help_text="what setting it up takes; 0 where there is nothing to set up",
    )
    cues = ArrayField(models.CharField(max_length=60), size=4)
    faults = models.JSONField(help_text="a list of {see, say}")
    feel = models.CharField(max_length=300)
    stop = models.CharField(max_length=300)
    caution = models.CharField(max_length=300, blank=True)
    contacts = models.DecimalField(
        max_digits=4,
        decimal_places=1,
        default=0,
        validators=[MinValueValidator(0), MaxValueValidator(10)],
        help_text="ground contacts in one repetition, second or metre",
    )
    contact_class = models.CharField(
        max_length=11,
        choices=[(each.value, each.label) for each in ContactClass],
        blank=True,
        db_default="",
        help_text="how hard its ground contacts are, where it has any",
    )
    no_landing_because = models.CharField(
        max_length=200,
        blank=True,
        help_text="why nothing lands, where the pattern is one that does",
    )
    loads = ArrayField(models.CharField(max_length=12), default=list)
    moves = ArrayField(models.CharField(max_length=12), default=list, blank=True)
    minimum_age = models.PositiveSmallIntegerField(default=6)
    watch = models.BooleanField(default=False, help_text="a grown-up watches")
    movement = models.CharField(
        max_length=20000,
        blank=True,
        help_text="a figure of its own, as a movement file; empty: the figure drawn for the slug",
    )
    picture = upload_field()
    picture_words = models.CharField(max_length=300, blank=True, help_text="what the picture shows")
    created_at = models.DateTimeField(auto_now_add=True)
    created_by_name = models.CharField(max_length=80, blank=True)
    search = models.GeneratedField(
        expression=SearchVector("name", config="english", weight="A")
        + SearchVector("plain", config="english", weight="B")
        + SearchVector("setup", config="english", weight="C"),
        output_field=SearchVectorField(),
        db_persist=True,
    )

    class Meta:
        ordering = ["exercise", "-number"]
        constraints = [
            models.UniqueConstraint(
                name="revision_number_once_per_exercise", fields=["exercise", "number"]
            ),
            models.CheckConstraint(
                name="usual_dose_lies_in_its_range",
                condition=Q(low__gte=1, low__lte=F("usual"), usual__lte=F("high"), high__lte=600),
            ),
            models.CheckConstraint(
                name="tempo_only_for_repetitions", condition=Q(tempo="") | Q(measure="repetitions")
            ),
            models.CheckConstraint(
                name="tempo_can_be_read", condition=Q(tempo="") | Q(tempo__regex=TEMPO)
            ),
            models.CheckConstraint(
                name="regions_are_known",
                condition=Q(loads__contained_by=REGIONS, moves__contained_by=REGIONS),
            ),
            models.CheckConstraint(
                name="a_region_loads_or_moves", condition=~Q(loads__overlap=F("moves"))
            ),
            models.CheckConstraint(
                name="contacts_of_one_repetition", condition=Q(contacts__range=(0, 10))
            ),
            # Written before it was asked for, a revision may stand against the next two: it never
            # changes, and what reads it trusts the pattern.
            models.CheckConstraint(
                name="contacts_say_how_hard_they_are",
                condition=Q(contacts=0, contact_class="")
                | Q(contacts__gt=0, contact_class__in=[each.value for each in ContactClass]),
            ),
            models.CheckConstraint(
                name="a_landing_lands_or_says_why_not",
                condition=~Q(pattern__in=LANDING)
                | ~Q(no_landing_because="")
                | Q(contacts__gt=0, loads__contains=[each.value for each in CATCHES_A_LANDING]),
            ),
            models.CheckConstraint(
                name="why_nothing_lands_is_in_words",
                condition=Q(no_landing_because="")
                | (Q(contacts=0) & in_words("no_landing_because")),
            ),
            models.CheckConstraint(
                name="other_names_are_few_and_none_is_empty",
                condition=Q(other_names__len__lte=MOST_OTHER_NAMES)
                & ~Q(other_names__contains=[""]),
            ),
            models.CheckConstraint(
                name="minimum_age_is_a_childs_age", condition=Q(minimum_age__range=(4, 18))
            ),
            models.CheckConstraint(
                name="set_up_takes_ten_minutes_at_most",
                condition=Q(setup_seconds__lte=LONGEST_SET_UP),
            ),
            models.CheckConstraint(
                name="pattern_is_known", condition=Q(pattern__in=Pattern.values)
            ),
            models.CheckConstraint(name="sides_are_known", condition=Q(sides__in=Sides.values)),
            models.CheckConstraint(
                name="measure_is_known", condition=Q(measure__in=Measure.values)
            ),
            models.CheckConstraint(
                name="own_movement_has_two_poses_and_a_phase",
                condition=Q(movement="") | Q(movement__regex=TWO_POSES_AND_A_PHASE),
            ),
            upload_name_is_ours("own_picture_is_an_upload", "picture"),
            models.CheckConstraint(
                name="own_movement_or_own_picture", condition=Q(movement="") | Q(picture="")
            ),
            models.CheckConstraint(
                name="own_picture_is_said_in_words",
                condition=(Q(picture="") & Q(picture_words=""))
                | (~Q(picture="") & ~Q(picture_words="")),
            ),
        ]
        indexes = [GinIndex(name="revision_search", fields=["search"])]

    def __str__(self) -> str:
        return self.name

    @property
    def contacts_counted(self) -> float:
        """Ground contacts in one repetition, second or metre, by number or by pattern."""
        return contacts_counted(self)

    @property
    def class_counted(self) -> ContactClass:
        """How hard they are, as written or as they count where that is not said."""
        return class_counted(self)

    @property
    def lands(self) -> bool:
        return self.contacts_counted > 0

    @property
    def unsaid(self) -> tuple[Unsaid, ...]:
        """What it must say of its landings and does not, but for the floor; no query."""
        return unsaid(self, self.loads, names_a_floor=True)

    @cached_property
    def names_a_floor(self) -> bool:
        """Whether one of its needs is met by floors alone. Its needs and items are fetched."""
        by_need = ([item.kind for item in need.items.all()] for need in self.needs.all())
        return any(kinds and {*kinds} == {Item.Kind.FLOOR} for kinds in by_need)

    @cached_property
    def items_by_need(self) -> dict[str, frozenset[str]]:
        """The slugs of the items that meet each need. Its needs are fetched."""
        return {
            need.what: frozenset(item.slug for item in need.items.all())
            for need in self.needs.all()
        }


class Need(models.Model):
    """One thing a revision cannot do without, and every item that would serve."""

    revision = models.ForeignKey(ExerciseRevision, on_delete=models.CASCADE, related_name="needs")
    position = models.PositiveSmallIntegerField()
    what = models.CharField(max_length=100)
    items = models.ManyToManyField(Item, related_name="needs")

    class Meta:
        ordering = ["revision", "position"]
        constraints = [
            models.UniqueConstraint(name="need_position_once", fields=["revision", "position"])
        ]

    def __str__(self) -> str:
        return self.what


def revision_fields() -> list[str]:
    """The names of what a revision says, in the order of its fields."""
    own: set[Any] = {"id", "exercise", "number", "created_at", "created_by_name", "search"}
    return [field.name for field in ExerciseRevision._meta.fields if field.name not in own]
