import django.contrib.postgres.fields
import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import library.shared.reasons


def keep_the_exercise(apps, schema_editor):
    """A report names the exercise itself: slots go where a session is chosen anew."""
    here = schema_editor.connection.alias  # who may change tables comes by another connection
    reports = apps.get_model("program", "PainReport").objects.using(here)
    slots = apps.get_model("program", "AssignedSlot").objects.using(here)
    slot = slots.filter(pk=models.OuterRef("assigned_slot"))
    reports.filter(assigned_slot__isnull=False).update(
        revision=models.Subquery(slot.values("revision")[:1])
    )
    # What is checked at the end of a transaction is in the way of changing the table.
    schema_editor.execute("SET CONSTRAINTS ALL IMMEDIATE")


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0007_resting_and_exercises_left_out"),
        ("library", "0001_squashed_0008_own_picture"),
        ("program", "0027_recalls"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AlterField(
            model_name="refit",
            name="what",
            field=models.CharField(
                choices=[
                    ("kit", "kit"),
                    ("restriction", "restriction"),
                    ("placement", "placement"),
                    ("growth", "growth"),
                    ("age", "age"),
                    ("cohort", "cohort"),
                    ("pain", "pain"),
                    ("venue", "venue"),
                    ("exercise", "exercise"),
                    ("pathway", "pathway"),
                    ("limit", "limit"),
                    ("recall", "recall"),
                ],
                max_length=11,
            ),
        ),
        migrations.CreateModel(
            name="SafetyRules",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "spares_from",
                    models.PositiveSmallIntegerField(
                        default=1,
                        help_text="how much it hurts, 1 to 10, from which a place is spared until somebody answers",
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(4),
                        ],
                        verbose_name="A place is spared from",
                    ),
                ),
                (
                    "call_whom",
                    models.CharField(
                        blank=True, max_length=60, verbose_name="Who families ring first"
                    ),
                ),
                (
                    "call_number",
                    models.CharField(blank=True, max_length=30, verbose_name="Their number"),
                ),
                ("at", models.DateTimeField(null=True)),
            ],
            options={
                "verbose_name_plural": "safety rules",
            },
        ),
        migrations.RemoveConstraint(
            model_name="painreport",
            name="pain_level_between_1_and_10",
        ),
        migrations.RemoveConstraint(
            model_name="painreport",
            name="pain_region_is_known",
        ),
        migrations.RenameField(
            model_name="painreport",
            old_name="seen_at",
            new_name="answered_at",
        ),
        migrations.RenameField(
            model_name="painreport",
            old_name="seen_by",
            new_name="answered_by",
        ),
        migrations.AlterField(
            model_name="painreport",
            name="answered_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="painreport",
            name="mailed_at",
            field=models.DateTimeField(
                blank=True, help_text="when a mail to the coaches was written, if any", null=True
            ),
        ),
        migrations.AddField(
            model_name="painreport",
            name="revision",
            field=models.ForeignKey(
                blank=True,
                help_text="the exercise during which it hurt",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="library.exerciserevision",
            ),
        ),
        migrations.AddField(
            model_name="painreport",
            name="signs",
            field=django.contrib.postgres.fields.ArrayField(
                base_field=models.CharField(
                    choices=[
                        ("limp", "a limp"),
                        ("locks", "it locks or gets stuck"),
                        ("cannot_stand", "cannot stand on it"),
                        ("pop", "there was a pop"),
                        ("night", "it hurts at night"),
                        ("fever", "a fever with it"),
                    ],
                    max_length=12,
                ),
                blank=True,
                default=list,
            ),
        ),
        migrations.AddField(
            model_name="painreport",
            name="spares",
            field=models.BooleanField(
                default=True,
                help_text="whether its place is spared until answered, as set when reported",
            ),
        ),
        migrations.AddField(
            model_name="painreport",
            name="symptom",
            field=models.CharField(
                blank=True,
                choices=[
                    ("chest", "chest hurts"),
                    ("ribs", "ribs hurt"),
                    ("belly", "belly hurts"),
                    ("dizzy", "dizzy"),
                    ("faint", "fainted, or nearly"),
                    ("breath", "cannot get breath"),
                    ("head_knock", "knock to the head"),
                    ("unwell", "not well"),
                ],
                max_length=10,
            ),
        ),
        migrations.AddField(
            model_name="painreport",
            name="taken_back_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="painreport",
            name="taken_back_because",
            field=models.CharField(blank=True, max_length=200),
        ),
        migrations.AddField(
            model_name="painreport",
            name="taken_back_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AlterField(
            model_name="painreport",
            name="assigned_session",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="pain_reports",
                to="program.assignedsession",
            ),
        ),
        migrations.AlterField(
            model_name="painreport",
            name="level",
            field=models.PositiveSmallIntegerField(
                blank=True, help_text="1 to 10; empty where nobody said", null=True
            ),
        ),
        migrations.AlterField(
            model_name="painreport",
            name="region",
            field=models.CharField(
                blank=True,
                choices=[
                    ("head_neck", "head or neck"),
                    ("shoulder", "shoulder"),
                    ("elbow", "elbow"),
                    ("wrist_hand", "wrist or hand"),
                    ("upper_back", "upper back"),
                    ("lower_back", "lower back"),
                    ("hip_groin", "hip or groin"),
                    ("thigh", "thigh"),
                    ("knee", "knee"),
                    ("lower_leg", "lower leg"),
                    ("ankle", "ankle"),
                    ("foot", "foot"),
                ],
                max_length=12,
            ),
        ),
        migrations.AlterField(
            model_name="painreport",
            name="side",
            field=models.CharField(
                choices=[("left", "left"), ("right", "right"), ("both", "both sides")],
                default="both",
                max_length=5,
            ),
        ),
        migrations.AddIndex(
            model_name="painreport",
            index=models.Index(
                condition=models.Q(("answered_at__isnull", True), ("taken_back_at__isnull", True)),
                fields=["child"],
                name="unanswered_pain_of_a_child",
            ),
        ),
        migrations.AddConstraint(
            model_name="painreport",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("level__isnull", True), ("level__range", (1, 10)), _connector="OR"
                ),
                name="pain_level_between_1_and_10",
                violation_error_message="How much it hurts runs from 1 to 10.",
            ),
        ),
        migrations.AddConstraint(
            model_name="painreport",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        (
                            "region__in",
                            [
                                "head_neck",
                                "shoulder",
                                "elbow",
                                "wrist_hand",
                                "upper_back",
                                "lower_back",
                                "hip_groin",
                                "thigh",
                                "knee",
                                "lower_leg",
                                "ankle",
                                "foot",
                            ],
                        ),
                        ("symptom", ""),
                    ),
                    models.Q(
                        ("region", ""),
                        (
                            "symptom__in",
                            [
                                "chest",
                                "ribs",
                                "belly",
                                "dizzy",
                                "faint",
                                "breath",
                                "head_knock",
                                "unwell",
                            ],
                        ),
                    ),
                    _connector="OR",
                ),
                name="pain_has_a_place_or_a_symptom",
            ),
        ),
        migrations.AddConstraint(
            model_name="painreport",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    (
                        "signs__contained_by",
                        ["limp", "locks", "cannot_stand", "pop", "night", "fever"],
                    )
                ),
                name="pain_signs_are_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="painreport",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("taken_back_at__isnull", True),
                    ("taken_back_because__regex", library.shared.reasons.IN_WORDS),
                    _connector="OR",
                ),
                name="pain_taken_back_says_why",
            ),
        ),
        migrations.AddField(
            model_name="safetyrules",
            name="by",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.RunPython(keep_the_exercise, migrations.RunPython.noop),
        migrations.RemoveField(
            model_name="painreport",
            name="assigned_slot",
        ),
        migrations.AddConstraint(
            model_name="safetyrules",
            constraint=models.CheckConstraint(
                condition=models.Q(("pk", 1)), name="one_row_of_safety_rules"
            ),
        ),
        migrations.AddConstraint(
            model_name="safetyrules",
            constraint=models.CheckConstraint(
                condition=models.Q(("spares_from__range", (1, 4))),
                name="a_place_is_always_spared_from_some_score",
                violation_error_message="Choose a number from 1 to 4: sparing is never off.",
            ),
        ),
    ]
