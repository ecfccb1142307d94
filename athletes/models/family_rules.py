from typing import Final

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

OWN_SIGN_IN_FROM: Final = 13
"""Years. Many countries let a child of this age agree to a service on the net for itself, others
only at up to 16 (the EU's GDPR, article 8, from memory); here a guardian agrees in any case."""
YOUNGEST_OF_ALL, GROWN_UP = 10, 18


class FamilyRulesQuerySet(models.QuerySet["FamilyRules"]):
    def current(self) -> "FamilyRules":
        """The program's, or the usual ones where it has set none."""
        return self.filter(pk=1).first() or FamilyRules()

    def set_own_sign_in_from(self, own_sign_in_from: int) -> None:
        self.update_or_create(pk=1, defaults={"own_sign_in_from": own_sign_in_from})


class FamilyRules(models.Model):
    """What a program sets about families: one row, or none while the usual holds."""

    own_sign_in_from = models.PositiveSmallIntegerField(
        "A young athlete’s own sign-in, from the age of",
        default=OWN_SIGN_IN_FROM,
        validators=[MinValueValidator(YOUNGEST_OF_ALL), MaxValueValidator(GROWN_UP)],
        help_text="years; a parent or guardian has to agree in any case",
    )

    objects = FamilyRulesQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "family rules"
        constraints = [
            models.CheckConstraint(name="one_row_of_family_rules", condition=Q(pk=1)),
            models.CheckConstraint(
                name="own_sign_in_at_a_sensible_age",
                condition=Q(own_sign_in_from__range=(YOUNGEST_OF_ALL, GROWN_UP)),
            ),
        ]

    def __str__(self) -> str:
        return "family rules"
