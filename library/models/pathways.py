from django.db import models
from django.db.models import Exists, F, OuterRef, Prefetch, Q

from library.models.exercises import Exercise, Pattern


class PathwayQuerySet(models.QuerySet["Pathway"]):
    def holding(self, exercise: Exercise) -> "PathwayQuerySet":
        """Pathways of which a step or a lateral ends on the exercise."""
        steps = Step.objects.filter(pathway=OuterRef("pk"))
        laterals = Lateral.objects.filter(pathway=OuterRef("pk"))
        return self.filter(
            Exists(steps.filter(Q(easier=exercise) | Q(harder=exercise)))
            | Exists(laterals.filter(Q(one=exercise) | Q(other=exercise)))
        )

    def with_graph(self) -> "PathwayQuerySet":
        """Pathways with their steps and laterals, in three queries however many there are."""
        return self.prefetch_related(
            Prefetch(
                "steps",
                queryset=Step.objects.select_related("easier__current", "harder__current"),
            ),
            Prefetch(
                "laterals",
                queryset=Lateral.objects.select_related("one__current", "other__current"),
            ),
        )


class Pathway(models.Model):
    """A directed acyclic graph of exercises of one pattern, easier to harder."""

    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=60)
    pattern = models.CharField(max_length=20, choices=Pattern)
    about = models.TextField(max_length=600)

    objects = PathwayQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                name="pathway_pattern_is_known", condition=Q(pattern__in=Pattern.values)
            )
        ]

    def __str__(self) -> str:
        return self.name


class Step(models.Model):
    """One edge easier -> harder. A trigger refuses the edge that would close a cycle."""

    pathway = models.ForeignKey(Pathway, on_delete=models.CASCADE, related_name="steps")
    easier = models.ForeignKey(Exercise, on_delete=models.PROTECT, related_name="steps_up")
    harder = models.ForeignKey(Exercise, on_delete=models.PROTECT, related_name="steps_down")
    change = models.CharField(max_length=200)
    ready = models.CharField(max_length=300)

    class Meta:
        ordering = ["pathway", "id"]
        constraints = [
            models.UniqueConstraint(name="step_once", fields=["pathway", "easier", "harder"]),
            models.CheckConstraint(
                name="step_leads_somewhere_else", condition=~Q(easier=F("harder"))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.easier} → {self.harder}"


class Lateral(models.Model):
    """Two equally hard alternatives on one pathway; kept once, the lower id first."""

    pathway = models.ForeignKey(Pathway, on_delete=models.CASCADE, related_name="laterals")
    one = models.ForeignKey(Exercise, on_delete=models.PROTECT, related_name="laterals_first")
    other = models.ForeignKey(Exercise, on_delete=models.PROTECT, related_name="laterals_second")

    class Meta:
        ordering = ["pathway", "id"]
        constraints = [
            models.UniqueConstraint(name="lateral_once", fields=["pathway", "one", "other"]),
            models.CheckConstraint(
                name="lateral_is_kept_lower_id_first", condition=Q(one__lt=F("other"))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.one} ~ {self.other}"

    @classmethod
    def between(cls, pathway: Pathway, one: Exercise, other: Exercise) -> "Lateral":
        """The unsaved lateral of two exercises, given in either order."""
        one, other = sorted((one, other), key=lambda exercise: exercise.pk)
        return cls(pathway=pathway, one=one, other=other)
