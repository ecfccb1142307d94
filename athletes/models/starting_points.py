"""Where children who are new to a pathway begin on it, as the program sets it."""

from django.conf import settings
from django.db import models
from django.db.models import Q


class TrainingAge(models.TextChoices):
    """How long a child has trained here; never how old it is."""

    NEW = "new", "new"
    SOME = "some", "one to two years"
    LONGER = "longer", "longer"


class StartingPoint(models.Model):
    """The exercise at which children of a training age begin on a pathway. No row: the usual one
    (`athletes.starting_profile`)."""

    pathway = models.ForeignKey("library.Pathway", on_delete=models.CASCADE, related_name="+")
    training_age = models.CharField(max_length=6, choices=TrainingAge)
    exercise = models.ForeignKey("library.Exercise", on_delete=models.CASCADE, related_name="+")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        ordering = ["pathway", "training_age"]
        constraints = [
            models.UniqueConstraint(
                name="one_start_for_a_training_age", fields=["pathway", "training_age"]
            ),
            models.CheckConstraint(
                name="training_age_is_known", condition=Q(training_age__in=TrainingAge.values)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pathway}, {self.get_training_age_display()}: {self.exercise}"
