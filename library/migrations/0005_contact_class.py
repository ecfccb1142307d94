from django.contrib.postgres.operations import AddConstraintNotValid
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("library", "0004_other_names")]

    operations = [
        migrations.AddField(
            "exerciserevision",
            "contact_class",
            models.CharField(
                blank=True,
                choices=[
                    ("low", "low"),
                    ("medium", "medium"),
                    ("high", "high"),
                    ("one_leg", "on one leg"),
                    ("from_height", "from a height"),
                ],
                db_default="",
                help_text="how hard its ground contacts are, where it has any",
                max_length=11,
            ),
        ),
        # Not held against what is there: a revision never changes, so an exercise that was written
        # before this was asked keeps that one until somebody describes it anew.
        AddConstraintNotValid(
            "exerciserevision",
            models.CheckConstraint(
                condition=models.Q(("contact_class", ""), ("contacts", 0))
                | models.Q(
                    ("contact_class__in", ["low", "medium", "high", "one_leg", "from_height"]),
                    ("contacts__gt", 0),
                ),
                name="contacts_say_how_hard_they_are",
            ),
        ),
    ]
