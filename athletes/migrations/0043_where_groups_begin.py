import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0042_placements_that_nobody_has_seen"),
        ("library", "0003_set_up_time"),
    ]

    operations = [
        migrations.CreateModel(
            name="StartingPoint",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "training_age",
                    models.CharField(
                        choices=[
                            ("new", "new"),
                            ("some", "one to two years"),
                            ("longer", "longer"),
                        ],
                        max_length=6,
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "exercise",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="library.exercise",
                    ),
                ),
                (
                    "pathway",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="library.pathway",
                    ),
                ),
            ],
            options={
                "ordering": ["pathway", "training_age"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("pathway", "training_age"), name="one_start_for_a_training_age"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("training_age__in", ["new", "some", "longer"])),
                        name="training_age_is_known",
                    ),
                ],
            },
        ),
    ]
