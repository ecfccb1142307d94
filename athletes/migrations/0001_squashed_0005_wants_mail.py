import uuid
from decimal import Decimal

import django.contrib.postgres.constraints
import django.contrib.postgres.fields.ranges
import django.db.models.deletion
import django.db.models.functions.text
from django.conf import settings
from django.contrib.postgres.operations import BtreeGistExtension
from django.db import migrations, models


class Migration(migrations.Migration):
    replaces = [
        ("athletes", "0001_initial"),
        ("athletes", "0002_growing_fast"),
        ("athletes", "0003_lifting_and_imports"),
        ("athletes", "0004_growth"),
        ("athletes", "0005_wants_mail"),
    ]

    initial = True

    dependencies = [
        ("library", "0001_squashed_0008_own_picture"),
    ]

    operations = [
        BtreeGistExtension(),
        migrations.CreateModel(
            name="User",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("password", models.CharField(max_length=128, verbose_name="password")),
                (
                    "last_login",
                    models.DateTimeField(blank=True, null=True, verbose_name="last login"),
                ),
                ("email", models.EmailField(max_length=254)),
                ("name", models.CharField(max_length=80)),
                (
                    "role",
                    models.CharField(
                        choices=[
                            ("head_coach", "head coach"),
                            ("coach", "coach"),
                            ("guardian", "parent or guardian"),
                            ("athlete", "young athlete"),
                        ],
                        max_length=10,
                    ),
                ),
                ("is_active", models.BooleanField(default=True)),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                (
                    "wants_mail",
                    models.BooleanField(
                        default=True,
                        help_text="about questions and answers; codes and invitations always come",
                    ),
                ),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.UniqueConstraint(
                        django.db.models.functions.text.Lower("email"),
                        name="email_once_whatever_its_case",
                        violation_error_message="Somebody already signs in with this email address.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("role__in", ["head_coach", "coach", "guardian", "athlete"])
                        ),
                        name="role_is_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Cohort",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=60, unique=True)),
                ("youngest", models.PositiveSmallIntegerField(help_text="age in years")),
                ("oldest", models.PositiveSmallIntegerField(help_text="age in years")),
                (
                    "coaches",
                    models.ManyToManyField(
                        blank=True, related_name="cohorts", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "venue_items",
                    models.ManyToManyField(
                        blank=True,
                        help_text="what is at hand at the venue",
                        related_name="+",
                        to="library.item",
                    ),
                ),
            ],
            options={
                "ordering": ["youngest", "name"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("oldest__lte", 21),
                            ("youngest__gte", 4),
                            ("youngest__lte", models.F("oldest")),
                        ),
                        name="cohort_ages_in_order",
                        violation_error_message="Ages run from 4 to 21, the youngest first.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ImportDraft",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "table",
                    models.JSONField(
                        help_text="headings, rows and how the file was read; empty once used"
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("used_at", models.DateTimeField(blank=True, null=True)),
                (
                    "added",
                    models.PositiveIntegerField(default=0, help_text="children that came of it"),
                ),
                (
                    "cohort",
                    models.ForeignKey(
                        blank=True,
                        help_text="for rows that name no cohort",
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="athletes.cohort",
                    ),
                ),
                (
                    "owner",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="import_drafts",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-created_at"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("used_at__isnull", True), ("table", {}), _connector="OR"
                        ),
                        name="a_used_import_keeps_no_children",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Child",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("given_name", models.CharField(max_length=40)),
                ("family_initial", models.CharField(max_length=1)),
                ("birth_date", models.DateField()),
                (
                    "sex",
                    models.CharField(
                        blank=True,
                        choices=[("female", "girl"), ("male", "boy")],
                        help_text="Only for estimating the growth spurt, whose published equations differ.",
                        max_length=6,
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                (
                    "user",
                    models.OneToOneField(
                        blank=True,
                        help_text="the child's own sign-in, if the family wishes one",
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="child",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "growing_fast_until",
                    models.DateField(
                        blank=True,
                        help_text="While a child grows fast, landings are halved and nothing gets harder.",
                        null=True,
                    ),
                ),
            ],
            options={
                "ordering": ["given_name", "family_initial", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("given_name", ""), _negated=True),
                            models.Q(("family_initial", ""), _negated=True),
                        ),
                        name="child_has_a_name",
                    ),
                    models.UniqueConstraint(
                        django.db.models.functions.text.Upper("given_name"),
                        django.db.models.functions.text.Upper("family_initial"),
                        models.F("birth_date"),
                        name="child_once",
                        violation_error_message="A child with this name and birth date is already here.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Enrolment",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("start", models.DateField()),
                ("end", models.DateField(blank=True, null=True)),
                (
                    "child",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="enrolments",
                        to="athletes.child",
                    ),
                ),
                (
                    "cohort",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="enrolments",
                        to="athletes.cohort",
                    ),
                ),
            ],
            options={
                "ordering": ["child", "-start"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("end__isnull", True), ("end__gte", models.F("start")), _connector="OR"
                        ),
                        name="enrolment_ends_after_it_starts",
                        violation_error_message="An enrolment cannot end before it starts.",
                    ),
                    django.contrib.postgres.constraints.ExclusionConstraint(
                        expressions=[
                            ("child", "="),
                            ("cohort", "="),
                            (
                                models.Func(
                                    models.F("start"),
                                    models.F("end"),
                                    django.contrib.postgres.fields.ranges.RangeBoundary(
                                        inclusive_lower=True, inclusive_upper=True
                                    ),
                                    function="DATERANGE",
                                    output_field=django.contrib.postgres.fields.ranges.DateRangeField(),
                                ),
                                "&&",
                            ),
                        ],
                        name="enrolled_once_at_a_time",
                        violation_error_message="This child is already in this cohort on those days.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Guardianship",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "child",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="guardianships",
                        to="athletes.child",
                    ),
                ),
                (
                    "guardian",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="guardianships",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("child", "guardian"), name="guardian_once_per_child"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="HomeKit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("answered_at", models.DateTimeField(auto_now=True)),
                (
                    "answered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "child",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="home_kit",
                        to="athletes.child",
                    ),
                ),
                ("items", models.ManyToManyField(blank=True, related_name="+", to="library.item")),
            ],
        ),
        migrations.CreateModel(
            name="Invitation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("token_digest", models.CharField(max_length=64, unique=True)),
                ("email", models.EmailField(max_length=254)),
                (
                    "role",
                    models.CharField(
                        choices=[
                            ("head_coach", "head coach"),
                            ("coach", "coach"),
                            ("guardian", "parent or guardian"),
                            ("athlete", "young athlete"),
                        ],
                        max_length=10,
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("expires_at", models.DateTimeField()),
                ("used_at", models.DateTimeField(blank=True, null=True)),
                (
                    "child",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        to="athletes.child",
                    ),
                ),
                (
                    "cohort",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        to="athletes.cohort",
                    ),
                ),
                (
                    "invited_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="invitations",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-created_at"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("role__in", ["guardian", "athlete"]), _negated=True),
                            ("child__isnull", False),
                            _connector="OR",
                        ),
                        name="family_invitation_names_its_child",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("expires_at__gt", models.F("created_at"))),
                        name="invitation_expires_after_it_is_made",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Placement",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("placed_at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                ("why", models.CharField(blank=True, max_length=200)),
                (
                    "child",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="placements",
                        to="athletes.child",
                    ),
                ),
                (
                    "exercise",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="library.exercise",
                    ),
                ),
                (
                    "pathway",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="library.pathway",
                    ),
                ),
                (
                    "placed_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["child", "pathway", "-placed_at"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("ended_at__isnull", True)),
                        fields=("child", "pathway"),
                        name="one_current_placement_per_pathway",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("ended_at__isnull", True),
                            ("ended_at__gte", models.F("placed_at")),
                            _connector="OR",
                        ),
                        name="placement_ends_after_it_begins",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Restriction",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "region",
                    models.CharField(
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
                (
                    "side",
                    models.CharField(
                        choices=[("left", "left"), ("right", "right"), ("both", "both sides")],
                        default="both",
                        max_length=5,
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("no_landing", "no landing"),
                            ("no_loading", "no loading"),
                            ("nothing", "nothing at all"),
                        ],
                        max_length=10,
                    ),
                ),
                ("start", models.DateField()),
                ("until", models.DateField(help_text="the last day it holds")),
                ("note", models.CharField(blank=True, max_length=200)),
                ("set_at", models.DateTimeField(auto_now_add=True)),
                (
                    "child",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="restrictions",
                        to="athletes.child",
                    ),
                ),
                (
                    "set_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "lifted_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("lifted_on", models.DateField(blank=True, null=True)),
            ],
            options={
                "ordering": ["-until", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("until__gte", models.F("start"))),
                        name="restriction_ends_after_it_starts",
                        violation_error_message="A restriction cannot end before it starts.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
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
                            )
                        ),
                        name="restriction_region_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("side__in", ["left", "right", "both"])),
                        name="restriction_side_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["no_landing", "no_loading", "nothing"])),
                        name="restriction_kind_is_known",
                    ),
                    django.contrib.postgres.constraints.ExclusionConstraint(
                        condition=models.Q(("lifted_on__isnull", True)),
                        expressions=[
                            ("child", "="),
                            ("region", "="),
                            ("side", "="),
                            ("kind", "="),
                            (
                                models.Func(
                                    models.F("start"),
                                    models.F("until"),
                                    django.contrib.postgres.fields.ranges.RangeBoundary(
                                        inclusive_lower=True, inclusive_upper=True
                                    ),
                                    function="DATERANGE",
                                    output_field=django.contrib.postgres.fields.ranges.DateRangeField(),
                                ),
                                "&&",
                            ),
                        ],
                        name="restricted_once_at_a_time",
                        violation_error_message="This is already set on those days.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="GrowthConsent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("given_at", models.DateTimeField()),
                (
                    "child",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="growth_consent",
                        to="athletes.child",
                    ),
                ),
                (
                    "given_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="GrowthMeasurement",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("on", models.DateField()),
                (
                    "height",
                    models.DecimalField(decimal_places=1, help_text="cm, standing", max_digits=4),
                ),
                (
                    "sitting",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="cm, from the seat",
                        max_digits=4,
                        null=True,
                    ),
                ),
                (
                    "mass",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        help_text="kg; only for the published equation that needs it, and never shown",
                        max_digits=4,
                        null=True,
                    ),
                ),
                (
                    "child",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="growth_measurements",
                        to="athletes.child",
                    ),
                ),
                (
                    "measured_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["child", "on"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("child", "on"),
                        name="measured_once_a_day",
                        violation_error_message="There is a measurement of this day already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("height__range", (Decimal("70"), Decimal("230")))),
                        name="height_is_a_childs",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("sitting__isnull", True),
                            models.Q(
                                ("sitting__lt", models.F("height")),
                                ("sitting__range", (Decimal("35"), Decimal("125"))),
                            ),
                            _connector="OR",
                        ),
                        name="nobody_sits_taller_than_they_stand",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("mass__isnull", True),
                            ("mass__range", (Decimal("8"), Decimal("200"))),
                            _connector="OR",
                        ),
                        name="mass_is_a_childs",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="Child",
            name="guardians",
            field=models.ManyToManyField(
                related_name="children",
                through="athletes.Guardianship",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
    ]
