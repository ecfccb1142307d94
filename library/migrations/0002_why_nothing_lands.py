from django.contrib.postgres.operations import AddConstraintNotValid
from django.db import migrations, models

from library.shared.reasons import in_words


class Migration(migrations.Migration):
    dependencies = [("library", "0001_squashed_0008_own_picture")]

    operations = [
        migrations.AddField(
            "exerciserevision",
            "no_landing_because",
            models.CharField(
                blank=True,
                default="",
                help_text="why nothing lands, where the pattern is one that does",
                max_length=200,
            ),
            preserve_default=False,
        ),
        migrations.AddConstraint(
            "exerciserevision",
            models.CheckConstraint(
                condition=models.Q(no_landing_because="")
                | (models.Q(contacts=0) & in_words("no_landing_because")),
                name="why_nothing_lands_is_in_words",
            ),
        ),
        # Not held against what is there: a revision never changes, so an exercise that was written
        # without its contacts keeps that one until somebody describes it anew.
        AddConstraintNotValid(
            "exerciserevision",
            models.CheckConstraint(
                condition=~models.Q(pattern__in=["jump", "land", "skip"])
                | ~models.Q(no_landing_because="")
                | models.Q(contacts__gt=0, loads__contains=["ankle", "knee"]),
                name="a_landing_lands_or_says_why_not",
            ),
        ),
    ]
