import datetime
import uuid

import django.contrib.postgres.fields
import django.contrib.postgres.functions
import django.core.validators
import django.db.models.constraints
import django.db.models.deletion
import django.db.models.expressions
from django.conf import settings
from django.db import migrations, models

from library.shared.create_models import CreateModels

# Django's database cache counts sign-in attempts in it for every web process.
CACHE = """
CREATE TABLE program_cache (
    cache_key varchar(255) PRIMARY KEY,
    value text NOT NULL,
    expires timestamptz NOT NULL
);
CREATE INDEX program_cache_expires ON program_cache (expires);
"""

WHAT_A_FAMILY_HAD_NEVER_CHANGES = """
CREATE FUNCTION program_earlier_report_is_immutable() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'What a family had before a correction is never changed.'
        USING ERRCODE = 'restrict_violation', CONSTRAINT = 'earlier_report_is_immutable';
END $$;

CREATE TRIGGER earlier_report_is_immutable
BEFORE UPDATE OF report_id, version, written, words, correction, sent_at ON program_earlierreport
FOR EACH ROW EXECUTE FUNCTION program_earlier_report_is_immutable();
"""


class Migration(migrations.Migration):
    replaces = [
        ("program", "0001_initial"),
        ("program", "0002_cache_table"),
        ("program", "0003_override"),
        ("program", "0004_pain_report_public_id"),
        ("program", "0005_refits"),
        ("program", "0006_submission"),
        ("program", "0007_resolutions"),
        ("program", "0008_questions"),
        ("program", "0009_calendar"),
        ("program", "0010_questions_from_phones"),
        ("program", "0011_absence"),
        ("program", "0012_board_changes"),
        ("program", "0013_checks"),
        ("program", "0014_progressions"),
        ("program", "0015_templates_and_breaks"),
        ("program", "0016_reports"),
        ("program", "0017_question_uploads"),
        ("program", "0018_handing_on_and_raises"),
        ("program", "0019_report_corrections"),
        ("program", "0020_session_note"),
        ("program", "0021_pauses"),
        ("program", "0022_block_form_key"),
        ("program", "0001_squashed_0022_block_form_key"),
        ("program", "0023_idempotency_keys"),
        ("program", "0024_closed_sessions"),
        ("program", "0025_override_in_spite_of_a_stop"),
        ("program", "0026_reasons_are_words"),
        ("program", "0027_recalls"),
        ("program", "0028_pain_reports_of_their_own"),
        ("program", "0029_way_back"),
        ("program", "0030_what_else_means_stop"),
        ("program", "0031_copies_and_erasing"),
        ("program", "0032_sealed_calendar_keys"),
        ("program", "0033_upload_attempts"),
        ("program", "0036_welfare_officers_and_concerns"),
        ("program", "0039_officers_by_two_people"),
        ("program", "0041_copies_are_files"),
        ("program", "0042_refits_after_an_answer_about_training"),
        ("program", "0043_standing_decisions"),
        ("program", "0045_kinds_of_part"),
        ("program", "0046_warm_ups_by_their_kind"),
        ("program", "0047_session_form_key"),
        ("program", "0048_progression_first_week"),
        ("program", "0049_sessions_called_off"),
        ("program", "0051_absent_without_notice"),
        ("program", "0052_session_news"),
        ("program", "0054_read_by_family"),
        ("program", "0056_what_stood_for_a_week_is_read"),
        ("program", "0057_what_is_new_about_a_session"),
        ("program", "0058_attendance"),
    ]

    initial = True

    dependencies = [
        ("athletes", "0046_how_to_hear_of_new_sessions"),
        ("library", "0004_other_names"),
    ]

    operations = [
        CreateModels(
            [
                migrations.CreateModel(
                    name="IdempotencyKey",
                    fields=[
                        (
                            "digest",
                            models.CharField(
                                editable=False, max_length=64, primary_key=True, serialize=False
                            ),
                        ),
                        ("created_at", models.DateTimeField(db_index=True)),
                    ],
                ),
                migrations.CreateModel(
                    name="AssignedSession",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "get_ready",
                            models.PositiveSmallIntegerField(
                                db_default=10, default=10, help_text="before each part"
                            ),
                        ),
                        (
                            "change_side",
                            models.PositiveSmallIntegerField(
                                db_default=4, default=4, help_text="from left to right"
                            ),
                        ),
                        (
                            "move_on",
                            models.PositiveSmallIntegerField(
                                db_default=5, default=5, help_text="into the next exercise"
                            ),
                        ),
                        (
                            "breather",
                            models.PositiveSmallIntegerField(
                                db_default=10, default=10, help_text="where an exercise says none"
                            ),
                        ),
                        (
                            "drink",
                            models.PositiveSmallIntegerField(
                                db_default=20, default=20, help_text="between two parts"
                            ),
                        ),
                        (
                            "public_id",
                            models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                        ),
                        ("name", models.CharField(max_length=80)),
                        ("date", models.DateField()),
                        (
                            "place",
                            models.CharField(
                                choices=[("home", "at home"), ("venue", "at the venue")],
                                max_length=5,
                            ),
                        ),
                        ("note", models.TextField(blank=True, max_length=1000)),
                        (
                            "seconds",
                            models.PositiveIntegerField(
                                help_text="by the timeline, when published"
                            ),
                        ),
                        ("published_at", models.DateTimeField()),
                        (
                            "fingerprint",
                            models.CharField(
                                help_text="of all that the family sees; equal means nothing to republish",
                                max_length=64,
                            ),
                        ),
                        (
                            "to_come",
                            models.PositiveSmallIntegerField(
                                default=0, help_text="exercises that the coach has still to choose"
                            ),
                        ),
                        ("started_at", models.DateTimeField(blank=True, null=True)),
                        (
                            "closed_at",
                            models.DateTimeField(
                                blank=True,
                                help_text="since when it is known that the child may not do it; it is being chosen anew",
                                null=True,
                            ),
                        ),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="assigned",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "published_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "session",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="assigned",
                                to="program.session",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["date", "id"],
                        "indexes": [
                            models.Index(
                                fields=["child", "date"], name="assigned_by_child_and_date"
                            )
                        ],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("breather__lte", 120),
                                    ("change_side__lte", 120),
                                    ("drink__lte", 120),
                                    ("get_ready__lte", 120),
                                    ("move_on__lte", 120),
                                ),
                                name="assignedsession_pauses_at_most_2_minutes",
                                violation_error_message="A pause is at most 120 seconds.",
                            ),
                            models.UniqueConstraint(
                                fields=("session", "child"), name="session_once_per_child"
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("place__in", ["home", "venue"])),
                                name="assigned_place_is_known",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Block",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "get_ready",
                            models.PositiveSmallIntegerField(
                                db_default=10, default=10, help_text="before each part"
                            ),
                        ),
                        (
                            "change_side",
                            models.PositiveSmallIntegerField(
                                db_default=4, default=4, help_text="from left to right"
                            ),
                        ),
                        (
                            "move_on",
                            models.PositiveSmallIntegerField(
                                db_default=5, default=5, help_text="into the next exercise"
                            ),
                        ),
                        (
                            "breather",
                            models.PositiveSmallIntegerField(
                                db_default=10, default=10, help_text="where an exercise says none"
                            ),
                        ),
                        (
                            "drink",
                            models.PositiveSmallIntegerField(
                                db_default=20, default=20, help_text="between two parts"
                            ),
                        ),
                        ("name", models.CharField(max_length=80)),
                        ("aim", models.CharField(blank=True, max_length=200)),
                        ("starts_on", models.DateField()),
                        ("ends_on", models.DateField()),
                        (
                            "form_key",
                            models.UUIDField(
                                editable=False,
                                help_text="of the form that made it, which makes one block however often it is sent",
                                null=True,
                                unique=True,
                            ),
                        ),
                        (
                            "cohort",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="blocks",
                                to="athletes.cohort",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-starts_on", "name"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("breather__lte", 120),
                                    ("change_side__lte", 120),
                                    ("drink__lte", 120),
                                    ("get_ready__lte", 120),
                                    ("move_on__lte", 120),
                                ),
                                name="block_pauses_at_most_2_minutes",
                                violation_error_message="A pause is at most 120 seconds.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("ends_on__gt", models.F("starts_on"))),
                                name="block_ends_after_it_starts",
                                violation_error_message="A block cannot end before it starts.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    (
                                        "ends_on__lte",
                                        django.db.models.expressions.CombinedExpression(
                                            models.F("starts_on"),
                                            "+",
                                            models.Value(datetime.timedelta(days=182)),
                                        ),
                                    )
                                ),
                                name="block_lasts_at_most_26_weeks",
                                violation_error_message="A block lasts at most 26 weeks.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="BoardChange",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "sentence",
                            models.CharField(
                                help_text="what was done, as the coach reads it", max_length=300
                            ),
                        ),
                        ("at", models.DateTimeField()),
                        ("undone_at", models.DateTimeField(null=True)),
                        (
                            "made",
                            models.JSONField(
                                default=list, help_text="id and version of each session it made"
                            ),
                        ),
                        (
                            "moved",
                            models.JSONField(
                                default=list,
                                help_text="id, day before and day after of each session",
                            ),
                        ),
                        (
                            "dropped",
                            models.TextField(blank=True, help_text="the rows it took out, as JSON"),
                        ),
                        (
                            "ended_on",
                            models.DateField(help_text="the block's last day before it", null=True),
                        ),
                        (
                            "block",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="changes",
                                to="program.block",
                            ),
                        ),
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
                            "undone_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-at", "-pk"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("undone_at__isnull", True),
                                    ("undone_at__gte", models.F("at")),
                                    _connector="OR",
                                ),
                                name="board_change_undone_after_it_was_done",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Break",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("name", models.CharField(max_length=80)),
                        ("first", models.DateField()),
                        ("last", models.DateField()),
                        (
                            "cohort",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="breaks",
                                to="athletes.cohort",
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
                    ],
                    options={
                        "ordering": ["first", "last", "pk"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(("name", ""), _negated=True),
                                name="break_has_a_name",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("last__gte", models.F("first"))),
                                name="break_ends_no_earlier_than_it_starts",
                                violation_error_message="A break cannot end before it starts.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    (
                                        "last__lte",
                                        django.db.models.expressions.CombinedExpression(
                                            models.F("first"),
                                            "+",
                                            models.Value(datetime.timedelta(days=182)),
                                        ),
                                    )
                                ),
                                name="break_lasts_at_most_26_weeks",
                                violation_error_message="A break lasts at most 26 weeks.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="CalendarFeed",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("key_digest", models.CharField(max_length=64, unique=True)),
                        ("sealed_key", models.BinaryField()),
                        ("made_at", models.DateTimeField()),
                        (
                            "guardian",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="calendar_feed",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                ),
                migrations.CreateModel(
                    name="CheckChange",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("code", models.CharField(help_text="the code of the rule", max_length=40)),
                        ("is_off", models.BooleanField(default=False)),
                        ("least", models.PositiveSmallIntegerField(blank=True, null=True)),
                        ("most", models.PositiveSmallIntegerField(blank=True, null=True)),
                        ("reason", models.CharField(max_length=300)),
                        ("at", models.DateTimeField()),
                        ("awaits_second", models.BooleanField(default=False)),
                        ("confirmed_at", models.DateTimeField(null=True)),
                        ("ended_at", models.DateTimeField(null=True)),
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
                            "confirmed_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "ended_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-at", "-pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                condition=models.Q(
                                    ("awaits_second", False), ("ended_at__isnull", True)
                                ),
                                fields=("code",),
                                name="one_standing_change_per_check",
                            ),
                            models.UniqueConstraint(
                                condition=models.Q(
                                    ("awaits_second", True), ("ended_at__isnull", True)
                                ),
                                fields=("code",),
                                name="one_waiting_change_per_check",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    (
                                        "reason__regex",
                                        "[^[:space:][:digit:][:punct:]].*[[:space:]].*[^[:space:][:digit:][:punct:]]{2}",
                                    )
                                ),
                                name="check_change_reason_is_words",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("confirmed_by__isnull", True),
                                    ("by__isnull", True),
                                    models.Q(("confirmed_by", models.F("by")), _negated=True),
                                    _connector="OR",
                                ),
                                name="check_change_confirmed_by_another",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("awaits_second", False),
                                    ("confirmed_at__isnull", True),
                                    _connector="OR",
                                ),
                                name="check_change_waits_or_is_confirmed",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("is_off", True),
                                        ("least__isnull", True),
                                        ("most__isnull", True),
                                    ),
                                    models.Q(("is_off", False), ("least__isnull", False)),
                                    models.Q(("is_off", False), ("most__isnull", False)),
                                    _connector="OR",
                                ),
                                name="check_change_is_off_or_has_a_limit",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("least__isnull", True),
                                    ("most__isnull", True),
                                    ("least__lte", models.F("most")),
                                    _connector="OR",
                                ),
                                name="check_limits_in_order",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("ended_at__isnull", True),
                                    ("ended_at__gte", models.F("at")),
                                    _connector="OR",
                                ),
                                name="check_change_ends_after_it_begins",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="ChildCopy",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "public_id",
                            models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                        ),
                        ("asked_at", models.DateTimeField()),
                        ("ready_at", models.DateTimeField(null=True)),
                        ("fetched_at", models.DateTimeField(null=True)),
                        (
                            "asked_by",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="+",
                                to="athletes.child",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-asked_at", "-pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                condition=models.Q(("ready_at__isnull", True)),
                                fields=("child", "asked_by"),
                                name="one_copy_at_a_time",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("fetched_at__isnull", True),
                                    ("ready_at__isnull", False),
                                    _connector="OR",
                                ),
                                name="a_copy_is_fetched_once_it_is_ready",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Completion",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "state",
                            models.CharField(
                                choices=[
                                    ("done", "done"),
                                    ("some", "some of it"),
                                    ("not", "not done"),
                                ],
                                max_length=4,
                            ),
                        ),
                        (
                            "absence",
                            models.CharField(
                                blank=True,
                                choices=[
                                    ("sick", "sick"),
                                    ("away", "away"),
                                    ("no_word", "absent, no notice"),
                                ],
                                help_text="why it was not done, where told",
                                max_length=7,
                            ),
                        ),
                        (
                            "effort",
                            models.PositiveSmallIntegerField(
                                blank=True, help_text="0 to 10", null=True
                            ),
                        ),
                        (
                            "enjoyment",
                            models.PositiveSmallIntegerField(
                                blank=True, help_text="1 to 5", null=True
                            ),
                        ),
                        ("minutes", models.PositiveSmallIntegerField(blank=True, null=True)),
                        ("note", models.TextField(blank=True, max_length=1000)),
                        ("logged_at", models.DateTimeField()),
                        ("edited_at", models.DateTimeField(blank=True, null=True)),
                        (
                            "assigned_session",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="completion",
                                to="program.assignedsession",
                            ),
                        ),
                        (
                            "edited_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "logged_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-logged_at"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(("state__in", ["done", "some", "not"])),
                                name="completion_state_is_known",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("absence", ""),
                                    models.Q(
                                        ("absence__in", ["sick", "away", "no_word"]),
                                        ("state", "not"),
                                    ),
                                    _connector="OR",
                                ),
                                name="absence_is_known_and_of_what_was_not_done",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("effort__isnull", True), ("effort__lte", 10), _connector="OR"
                                ),
                                name="effort_between_0_and_10",
                                violation_error_message="Effort runs from 0 to 10.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("enjoyment__isnull", True),
                                    ("enjoyment__range", (1, 5)),
                                    _connector="OR",
                                ),
                                name="enjoyment_between_1_and_5",
                                violation_error_message="Enjoyment runs from 1 to 5.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("minutes__isnull", True),
                                    ("minutes__range", (1, 240)),
                                    _connector="OR",
                                ),
                                name="minutes_between_1_and_240",
                                violation_error_message="A session lasts between 1 and 240 minutes.",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Concern",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "public_id",
                            models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                        ),
                        ("about", models.CharField(blank=True, max_length=120)),
                        ("text", models.TextField(max_length=4000)),
                        ("happened", models.CharField(blank=True, max_length=120)),
                        ("reporter", models.CharField(blank=True, max_length=80)),
                        ("reported_at", models.DateTimeField()),
                        ("seen_at", models.DateTimeField(null=True)),
                        ("closed_at", models.DateTimeField(null=True)),
                        (
                            "by",
                            models.ForeignKey(
                                help_text="null also where they left their name out",
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "closed_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "kept_from",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "seen_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": [
                            models.OrderBy(
                                models.F("closed_at"), descending=True, nulls_first=True
                            ),
                            "-reported_at",
                            "-pk",
                        ],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(("text", ""), _negated=True),
                                name="a_concern_says_something",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("closed_at__isnull", True),
                                    ("seen_at__isnull", False),
                                    _connector="OR",
                                ),
                                name="a_concern_is_seen_before_it_is_closed",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="ConcernEntry",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "kind",
                            models.CharField(
                                choices=[("added", "added"), ("note", "note of the officers")],
                                max_length=5,
                            ),
                        ),
                        ("text", models.TextField(max_length=4000)),
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
                            "concern",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="entries",
                                to="program.concern",
                            ),
                        ),
                    ],
                    options={
                        "verbose_name_plural": "concern entries",
                        "ordering": ["at", "pk"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(("text", ""), _negated=True),
                                name="a_concern_entry_says_something",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("kind__in", ["added", "note"])),
                                name="a_concern_entry_is_of_a_kind",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="ConcernLook",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
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
                            "concern",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="looks",
                                to="program.concern",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-at", "-pk"],
                    },
                ),
                migrations.CreateModel(
                    name="DoseRaise",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "amount",
                            models.PositiveSmallIntegerField(
                                help_text="more than written, in its measure"
                            ),
                        ),
                        (
                            "set_at",
                            models.DateTimeField(
                                help_text="what was logged before says nothing about it"
                            ),
                        ),
                        (
                            "placement",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="dose_raise",
                                to="athletes.placement",
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
                    ],
                    options={
                        "ordering": ["placement"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(("amount__range", (1, 600))),
                                name="dose_raised_by_1_to_600",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Erasure",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "public_id",
                            models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                        ),
                        (
                            "why",
                            models.CharField(
                                choices=[
                                    ("asked", "the family asked"),
                                    ("program", "the program decided"),
                                    (
                                        "time",
                                        "the time for which the program keeps a child is over",
                                    ),
                                ],
                                max_length=7,
                            ),
                        ),
                        ("asked_at", models.DateTimeField()),
                        ("confirmed_at", models.DateTimeField(null=True)),
                        ("ended_at", models.DateTimeField(null=True)),
                        ("ended_because", models.CharField(blank=True, max_length=300)),
                        ("done_at", models.DateTimeField(null=True)),
                        (
                            "counts",
                            models.JSONField(
                                default=dict, help_text="how many rows of what were erased"
                            ),
                        ),
                        (
                            "asked_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "child",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="erasures",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "confirmed_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "ended_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-asked_at", "-pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                condition=models.Q(
                                    ("done_at__isnull", True), ("ended_at__isnull", True)
                                ),
                                fields=("child",),
                                name="one_open_erasure_of_a_child",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("confirmed_by__isnull", True),
                                    ("asked_by__isnull", True),
                                    models.Q(("confirmed_by", models.F("asked_by")), _negated=True),
                                    (
                                        "confirmed_at__gte",
                                        django.db.models.expressions.CombinedExpression(
                                            models.F("asked_at"),
                                            "+",
                                            models.Value(datetime.timedelta(days=1)),
                                        ),
                                    ),
                                    _connector="OR",
                                ),
                                name="erasing_takes_a_second_person_or_a_day",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("done_at__isnull", True),
                                    models.Q(
                                        ("confirmed_at__isnull", False), ("ended_at__isnull", True)
                                    ),
                                    _connector="OR",
                                ),
                                name="erased_once_confirmed_and_not_ended",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="PainReport",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "public_id",
                            models.UUIDField(
                                db_default=django.contrib.postgres.functions.RandomUUID(),
                                default=uuid.uuid4,
                                editable=False,
                                help_text="made by the form or the phone it comes from: sent twice, it is one report",
                                unique=True,
                            ),
                        ),
                        (
                            "region",
                            models.CharField(
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
                        (
                            "side",
                            models.CharField(
                                choices=[
                                    ("left", "left"),
                                    ("right", "right"),
                                    ("both", "both sides"),
                                ],
                                default="both",
                                max_length=5,
                            ),
                        ),
                        (
                            "level",
                            models.PositiveSmallIntegerField(
                                blank=True, help_text="1 to 10; empty where nobody said", null=True
                            ),
                        ),
                        (
                            "symptom",
                            models.CharField(
                                blank=True,
                                choices=[
                                    ("chest", "chest hurts"),
                                    ("ribs", "ribs hurt"),
                                    ("belly", "belly hurts"),
                                    ("dizzy", "dizzy"),
                                    ("faint", "fainted, or nearly"),
                                    ("breath", "cannot get breath"),
                                    ("wheeze", "wheezing"),
                                    ("headache", "headache"),
                                    ("sick", "feels sick"),
                                    ("head_knock", "knock to the head"),
                                    ("unwell", "not well"),
                                ],
                                max_length=10,
                            ),
                        ),
                        (
                            "signs",
                            django.contrib.postgres.fields.ArrayField(
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
                        ("note", models.CharField(blank=True, max_length=300)),
                        (
                            "spares",
                            models.BooleanField(
                                default=True,
                                help_text="whether its place is spared until answered, as set when reported",
                            ),
                        ),
                        ("reported_at", models.DateTimeField()),
                        (
                            "mailed_at",
                            models.DateTimeField(
                                blank=True,
                                help_text="when a mail to the coaches was written, if any",
                                null=True,
                            ),
                        ),
                        ("answered_at", models.DateTimeField(blank=True, null=True)),
                        ("taken_back_at", models.DateTimeField(blank=True, null=True)),
                        ("taken_back_because", models.CharField(blank=True, max_length=200)),
                        (
                            "answered_by",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "assigned_session",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="pain_reports",
                                to="program.assignedsession",
                            ),
                        ),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="pain_reports",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "reported_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "revision",
                            models.ForeignKey(
                                blank=True,
                                help_text="the exercise during which it hurt",
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="library.exerciserevision",
                            ),
                        ),
                        (
                            "taken_back_by",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-reported_at"],
                        "indexes": [
                            models.Index(
                                condition=models.Q(
                                    ("answered_at__isnull", True), ("taken_back_at__isnull", True)
                                ),
                                fields=["child"],
                                name="unanswered_pain_of_a_child",
                            )
                        ],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("level__isnull", True),
                                    ("level__range", (1, 10)),
                                    _connector="OR",
                                ),
                                name="pain_level_between_1_and_10",
                                violation_error_message="How much it hurts runs from 1 to 10.",
                            ),
                            models.CheckConstraint(
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
                                                "wheeze",
                                                "headache",
                                                "sick",
                                                "head_knock",
                                                "unwell",
                                            ],
                                        ),
                                    ),
                                    _connector="OR",
                                ),
                                name="pain_has_a_place_or_a_symptom",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("side__in", ["left", "right", "both"])),
                                name="pain_side_is_known",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    (
                                        "signs__contained_by",
                                        ["limp", "locks", "cannot_stand", "pop", "night", "fever"],
                                    )
                                ),
                                name="pain_signs_are_known",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("taken_back_at__isnull", True),
                                    (
                                        "taken_back_because__regex",
                                        "[^[:space:][:digit:][:punct:]].*[[:space:]].*[^[:space:][:digit:][:punct:]]{2}",
                                    ),
                                    _connector="OR",
                                ),
                                name="pain_taken_back_says_why",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Progression",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("session_name", models.CharField(max_length=80)),
                        (
                            "first_week",
                            models.PositiveSmallIntegerField(
                                default=1,
                                help_text="of the block; what is written in the weeks before it stays",
                            ),
                        ),
                        (
                            "kind",
                            models.CharField(
                                choices=[
                                    ("grow", "grow from week to week"),
                                    ("stay", "stay as it is until ready"),
                                    ("wave", "come in waves of rounds"),
                                ],
                                max_length=5,
                            ),
                        ),
                        (
                            "start",
                            models.PositiveSmallIntegerField(help_text="in the exercise's measure"),
                        ),
                        ("step", models.PositiveSmallIntegerField(default=0)),
                        ("every", models.PositiveSmallIntegerField(default=1)),
                        ("top", models.PositiveSmallIntegerField(default=0)),
                        (
                            "wave",
                            django.contrib.postgres.fields.ArrayField(
                                base_field=models.PositiveSmallIntegerField(null=True),
                                default=list,
                                help_text="rounds by week; null is a deload",
                            ),
                        ),
                        ("at", models.DateTimeField()),
                        (
                            "block",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="progressions",
                                to="program.block",
                            ),
                        ),
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
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="library.exercise",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["session_name", "pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                fields=("block", "session_name", "exercise"),
                                name="one_intent_per_exercise_and_session_name",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("kind__in", ["grow", "stay", "wave"])),
                                name="intent_kind_is_known",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("first_week__range", (1, 27))),
                                name="progression_begins_within_a_block",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("start__range", (1, 600))),
                                name="intent_starts_between_1_and_600",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("kind", "grow"), _negated=True),
                                    models.Q(
                                        ("every__range", (1, 26)),
                                        ("step__gte", 1),
                                        ("top__gt", models.F("start")),
                                        ("top__lte", 600),
                                    ),
                                    _connector="OR",
                                ),
                                name="intent_grows_somewhere",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("kind", "wave"), _negated=True),
                                    ("wave__len__range", (2, 8)),
                                    _connector="OR",
                                ),
                                name="wave_has_2_to_8_weeks",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Question",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "public_id",
                            models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                        ),
                        ("text", models.CharField(max_length=600)),
                        (
                            "upload",
                            models.CharField(blank=True, default="", editable=False, max_length=36),
                        ),
                        ("asked_at", models.DateTimeField()),
                        ("answer", models.CharField(blank=True, max_length=1000)),
                        ("answered_at", models.DateTimeField(null=True)),
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
                            "asked_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "assigned_session",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="questions",
                                to="program.assignedsession",
                            ),
                        ),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="questions",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "exercise",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="library.exercise",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-asked_at", "-pk"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("upload__regex", "^([0-9a-f]{32}\\.(jpg|mp4))?$")
                                ),
                                name="question_upload_is_ours",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("text", ""), _negated=True),
                                name="a_question_asks_something",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("answer", ""), ("answered_at__isnull", True)),
                                    models.Q(
                                        models.Q(("answer", ""), _negated=True),
                                        ("answered_at__isnull", False),
                                    ),
                                    _connector="OR",
                                ),
                                name="an_answer_says_something_and_when",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Recall",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("reason", models.CharField(help_text="families read it", max_length=300)),
                        ("at", models.DateTimeField()),
                        ("ended_at", models.DateTimeField(null=True)),
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
                            "ended_by",
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
                                related_name="recalls",
                                to="library.exercise",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-at", "-pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                condition=models.Q(("ended_at__isnull", True)),
                                fields=("exercise",),
                                name="one_standing_recall_per_exercise",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    (
                                        "reason__regex",
                                        "[^[:space:][:digit:][:punct:]].*[[:space:]].*[^[:space:][:digit:][:punct:]]{2}",
                                    )
                                ),
                                name="recall_reason_is_words",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("ended_at__isnull", True),
                                    ("ended_at__gte", models.F("at")),
                                    _connector="OR",
                                ),
                                name="recall_ends_after_it_begins",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Refit",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "what",
                            models.CharField(
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
                                    ("way_back", "way_back"),
                                    ("consent", "consent"),
                                    ("decision", "decision"),
                                ],
                                max_length=11,
                            ),
                        ),
                        ("at", models.DateTimeField()),
                        (
                            "changed",
                            models.PositiveSmallIntegerField(
                                help_text="sessions that the child now gets anew"
                            ),
                        ),
                        (
                            "waiting",
                            models.PositiveSmallIntegerField(
                                help_text="sessions that wait for the coach"
                            ),
                        ),
                        (
                            "withdrawn",
                            models.PositiveSmallIntegerField(help_text="sessions taken back"),
                        ),
                        ("seen_at", models.DateTimeField(blank=True, null=True)),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="refits",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "seen_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-at"],
                    },
                ),
                migrations.CreateModel(
                    name="Report",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "public_id",
                            models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                        ),
                        (
                            "written",
                            models.JSONField(
                                default=dict,
                                help_text="the text of each section and the pathways, as they were made",
                            ),
                        ),
                        (
                            "generated_at",
                            models.DateTimeField(
                                help_text="empty while it waits to be written", null=True
                            ),
                        ),
                        ("own_practised", models.TextField(blank=True, max_length=1200)),
                        ("own_learnt", models.TextField(blank=True, max_length=1200)),
                        ("own_consistency", models.TextField(blank=True, max_length=1200)),
                        ("own_ahead", models.TextField(blank=True, max_length=1200)),
                        (
                            "words",
                            models.TextField(
                                blank=True, help_text="the coach's own", max_length=2000
                            ),
                        ),
                        ("version", models.PositiveIntegerField(default=1)),
                        ("edited_at", models.DateTimeField(null=True)),
                        ("sent_at", models.DateTimeField(null=True)),
                        ("corrected_at", models.DateTimeField(null=True)),
                        (
                            "correction",
                            models.CharField(
                                blank=True,
                                help_text="what the last correction put right, to the family",
                                max_length=200,
                            ),
                        ),
                        (
                            "block",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="reports",
                                to="program.block",
                            ),
                        ),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="reports",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "corrected_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "edited_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "sent_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "words_by",
                            models.ForeignKey(
                                help_text="whose words they are to the family",
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-block__starts_on", "pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                fields=("block", "child"), name="one_report_of_a_block"
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("sent_at__isnull", True),
                                    ("generated_at__isnull", False),
                                    _connector="OR",
                                ),
                                name="what_is_sent_is_written",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("corrected_at__isnull", True),
                                    models.Q(
                                        ("sent_at__isnull", False),
                                        ("sent_at__lte", models.F("corrected_at")),
                                    ),
                                    _connector="OR",
                                ),
                                name="what_is_corrected_was_sent",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("corrected_at__isnull", True), ("correction", "")),
                                    models.Q(
                                        ("corrected_at__isnull", False),
                                        models.Q(("correction", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="a_correction_says_what_it_is",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="ReadByFamily",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "as_of",
                            models.DateTimeField(
                                help_text="when what was read was answered, sent or corrected; anew, it is unread again"
                            ),
                        ),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="+",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "person",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "question",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="+",
                                to="program.question",
                            ),
                        ),
                        (
                            "report",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="+",
                                to="program.report",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                fields=("person", "question"), name="an_answer_is_read_once"
                            ),
                            models.UniqueConstraint(
                                fields=("person", "report"), name="a_report_is_read_once"
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("question__isnull", True), ("report__isnull", False)),
                                    models.Q(("question__isnull", False), ("report__isnull", True)),
                                    _connector="OR",
                                ),
                                name="an_answer_or_a_report_is_read",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="EarlierReport",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "version",
                            models.PositiveIntegerField(help_text="the report's, when it stood so"),
                        ),
                        (
                            "written",
                            models.JSONField(
                                help_text="as Report.written, with the coach's own paragraphs in it"
                            ),
                        ),
                        ("words", models.TextField(blank=True, max_length=2000)),
                        (
                            "correction",
                            models.CharField(
                                blank=True, help_text="empty in the first", max_length=200
                            ),
                        ),
                        ("sent_at", models.DateTimeField(help_text="when it went to the family")),
                        (
                            "sent_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "words_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "report",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="earlier",
                                to="program.report",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["report", "-version"],
                        "constraints": [
                            models.UniqueConstraint(
                                fields=("report", "version"), name="one_earlier_report_of_a_version"
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Resolution",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "sentence",
                            models.CharField(
                                help_text="what was done, as the coach reads it", max_length=300
                            ),
                        ),
                        ("at", models.DateTimeField()),
                        ("undone_at", models.DateTimeField(null=True)),
                        (
                            "finding",
                            models.CharField(
                                help_text="the key of the finding it answers", max_length=80
                            ),
                        ),
                        (
                            "action",
                            models.CharField(
                                help_text="the code of the action taken", max_length=80
                            ),
                        ),
                        (
                            "until",
                            models.DateField(
                                help_text="the day on which the finding may come back; empty for never",
                                null=True,
                            ),
                        ),
                        (
                            "before",
                            models.JSONField(
                                default=dict, help_text="what undoing it needs to know"
                            ),
                        ),
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
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="resolutions",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "to",
                            models.ForeignKey(
                                help_text="the coach it was handed to; without that coach it is everybody's again",
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "undone_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-at", "-pk"],
                        "indexes": [
                            models.Index(fields=["child", "finding"], name="resolutions_of_a_child")
                        ],
                        "constraints": [
                            models.UniqueConstraint(
                                condition=models.Q(
                                    ("to__isnull", True),
                                    ("undone_at__isnull", True),
                                    ("until__isnull", True),
                                ),
                                fields=("child", "finding"),
                                name="answered_for_good_once",
                            ),
                            models.UniqueConstraint(
                                condition=models.Q(
                                    ("to__isnull", False), ("undone_at__isnull", True)
                                ),
                                fields=("child", "finding"),
                                name="with_one_coach_at_a_time",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("undone_at__isnull", True),
                                    ("undone_at__gte", models.F("at")),
                                    _connector="OR",
                                ),
                                name="undone_after_it_was_done",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="SafetyRules",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
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
                            models.CharField(
                                blank=True, max_length=30, verbose_name="Their number"
                            ),
                        ),
                        (
                            "pain_free_days",
                            models.PositiveSmallIntegerField(
                                db_default=1,
                                default=1,
                                help_text="before a place that hurt is worked again, with easier exercises",
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(14),
                                ],
                                verbose_name="Days without pain",
                            ),
                        ),
                        (
                            "sessions_at_a_step",
                            models.PositiveSmallIntegerField(
                                db_default=2,
                                default=2,
                                help_text="done without pain before the next step is asked about",
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(10),
                                ],
                                verbose_name="Sessions at each step",
                            ),
                        ),
                        (
                            "lighter_after_days",
                            models.PositiveSmallIntegerField(
                                db_default=14,
                                default=14,
                                help_text="without a session, after which a lighter first week is offered",
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(60),
                                ],
                                verbose_name="Days away",
                            ),
                        ),
                        (
                            "lighter_after_illness",
                            models.PositiveSmallIntegerField(
                                db_default=7,
                                default=7,
                                help_text="after which it is offered already",
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(60),
                                ],
                                verbose_name="Days away with an illness",
                            ),
                        ),
                        ("at", models.DateTimeField(null=True)),
                        (
                            "by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "verbose_name_plural": "safety rules",
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(("pk", 1)), name="one_row_of_safety_rules"
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("spares_from__range", (1, 4))),
                                name="a_place_is_always_spared_from_some_score",
                                violation_error_message="Choose a number from 1 to 4: sparing is never off.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("lighter_after_days__range", (1, 60)),
                                    ("lighter_after_illness__range", (1, 60)),
                                    ("pain_free_days__range", (1, 14)),
                                    ("sessions_at_a_step__range", (1, 10)),
                                ),
                                name="every_step_of_the_way_back_takes_something",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Session",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("name", models.CharField(max_length=80)),
                        ("date", models.DateField()),
                        (
                            "place",
                            models.CharField(
                                choices=[("home", "at home"), ("venue", "at the venue")],
                                default="home",
                                max_length=5,
                            ),
                        ),
                        ("target_minutes", models.PositiveSmallIntegerField(default=25)),
                        (
                            "note",
                            models.TextField(
                                blank=True, help_text="a word to the family", max_length=1000
                            ),
                        ),
                        ("version", models.PositiveIntegerField(default=1)),
                        ("edited_at", models.DateTimeField(auto_now=True)),
                        ("published_at", models.DateTimeField(blank=True, null=True)),
                        ("published_version", models.PositiveIntegerField(blank=True, null=True)),
                        (
                            "published_from",
                            models.CharField(
                                blank=True,
                                help_text="scheme and host of the site, where mails about it lead; empty for no mails",
                                max_length=300,
                            ),
                        ),
                        (
                            "goes_out_incomplete",
                            models.BooleanField(
                                default=False,
                                help_text="to a child for whom something in it is still to be decided, too",
                            ),
                        ),
                        (
                            "form_key",
                            models.UUIDField(
                                editable=False,
                                help_text="of the form that made it, which makes one session however often it is sent",
                                null=True,
                                unique=True,
                            ),
                        ),
                        (
                            "called_off_at",
                            models.DateTimeField(
                                blank=True, help_text="since when it does not take place", null=True
                            ),
                        ),
                        (
                            "called_off_because",
                            models.CharField(
                                blank=True,
                                help_text="in a few words to the families",
                                max_length=120,
                            ),
                        ),
                        (
                            "block",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="sessions",
                                to="program.block",
                            ),
                        ),
                        (
                            "called_off_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "edited_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "published_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["date", "id"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(("name", ""), _negated=True),
                                name="session_has_a_name",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("target_minutes__range", (5, 120))),
                                name="session_target_between_5_and_120_minutes",
                                violation_error_message="A session takes between 5 and 120 minutes.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("place__in", ["home", "venue"])),
                                name="session_place_is_known",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("called_off_at__isnull", True),
                                    ("published_at__isnull", False),
                                    _connector="OR",
                                ),
                                name="session_called_off_was_published",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("called_off_because", ""),
                                    ("called_off_at__isnull", False),
                                    _connector="OR",
                                ),
                                name="session_called_off_because_it_is",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Part",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("position", models.PositiveSmallIntegerField()),
                        ("name", models.CharField(max_length=60)),
                        (
                            "kind",
                            models.CharField(
                                choices=[
                                    ("warm_up", "warm-up"),
                                    ("straight", "straight sets"),
                                    ("superset", "superset"),
                                    ("circuit", "circuit"),
                                    ("cool_down", "cool-down"),
                                ],
                                default="straight",
                                max_length=9,
                            ),
                        ),
                        ("rounds", models.PositiveSmallIntegerField(default=1)),
                        (
                            "rest_seconds",
                            models.PositiveSmallIntegerField(
                                default=0, help_text="a breather after each round but the last"
                            ),
                        ),
                        ("version", models.PositiveIntegerField(default=1)),
                        (
                            "session",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="parts",
                                to="program.session",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["session", "position"],
                        "constraints": [
                            models.UniqueConstraint(
                                deferrable=django.db.models.constraints.Deferrable["DEFERRED"],
                                fields=("session", "position"),
                                name="part_position_once",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("rounds__range", (1, 10))),
                                name="part_has_1_to_10_rounds",
                                violation_error_message="A part has between 1 and 10 rounds.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("rest_seconds__lte", 600)),
                                name="part_rest_at_most_10_minutes",
                                violation_error_message="A rest is at most 600 seconds.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    (
                                        "kind__in",
                                        ["warm_up", "straight", "superset", "circuit", "cool_down"],
                                    )
                                ),
                                name="part_kind_is_known",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Attendance",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "presence",
                            models.CharField(
                                choices=[
                                    ("there", "there"),
                                    ("sick", "sick"),
                                    ("away", "away"),
                                    ("no_word", "absent, no notice"),
                                ],
                                max_length=7,
                            ),
                        ),
                        ("said_at", models.DateTimeField()),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="attendance",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "said_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "session",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="attendance",
                                to="program.session",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                fields=("session", "child"), name="in_the_hall_once"
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("presence__in", ["there", "sick", "away", "no_word"])
                                ),
                                name="presence_is_known",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="SessionNews",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "what",
                            models.CharField(
                                choices=[
                                    ("new", "it is there"),
                                    ("rest", "what was still to come of it is there"),
                                    ("note", "the coach has written something to it"),
                                ],
                                default="new",
                                max_length=4,
                            ),
                        ),
                        (
                            "due_at",
                            models.DateTimeField(
                                help_text="when it is mailed, if not along with something else"
                            ),
                        ),
                        (
                            "told_at",
                            models.DateTimeField(
                                help_text="since when it is no news, mailed or told in another way",
                                null=True,
                            ),
                        ),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="session_news",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "person",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="session_news",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "session",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="news",
                                to="program.session",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["pk"],
                        "indexes": [
                            models.Index(
                                condition=models.Q(("told_at__isnull", True)),
                                fields=["due_at"],
                                name="session_news_untold",
                            )
                        ],
                        "constraints": [
                            models.UniqueConstraint(
                                fields=("session", "child", "person"), name="told_once_of_a_session"
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("what__in", ["new", "rest", "note"])),
                                name="session_news_is_known",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="SessionNote",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("text", models.TextField(max_length=1000)),
                        ("written_at", models.DateTimeField()),
                        ("edited_at", models.DateTimeField(null=True)),
                        (
                            "edited_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "session",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="group_note",
                                to="program.session",
                            ),
                        ),
                        (
                            "written_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["session"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(("text", ""), _negated=True),
                                name="session_note_says_something",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("edited_at__isnull", True),
                                    ("edited_at__gte", models.F("written_at")),
                                    _connector="OR",
                                ),
                                name="session_note_is_edited_after_it_is_written",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Slot",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("position", models.PositiveSmallIntegerField()),
                        (
                            "amount",
                            models.PositiveSmallIntegerField(help_text="in the exercise's measure"),
                        ),
                        ("tempo", models.CharField(blank=True, max_length=12)),
                        (
                            "rest_seconds",
                            models.PositiveSmallIntegerField(
                                blank=True,
                                help_text="a breather after it; empty leaves it to the block's",
                                null=True,
                            ),
                        ),
                        ("note", models.CharField(blank=True, max_length=200)),
                        (
                            "rule",
                            models.CharField(
                                choices=[
                                    ("as_written", "as written for all"),
                                    ("easier_where_needed", "make it easier where needed"),
                                    ("meet_placement", "easier or harder, by placement"),
                                ],
                                default="easier_where_needed",
                                max_length=20,
                            ),
                        ),
                        ("max_steps_up", models.PositiveSmallIntegerField(default=1)),
                        ("version", models.PositiveIntegerField(default=1)),
                        (
                            "exercise",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="library.exercise",
                            ),
                        ),
                        (
                            "part",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="slots",
                                to="program.part",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["part", "position"],
                        "constraints": [
                            models.UniqueConstraint(
                                deferrable=django.db.models.constraints.Deferrable["DEFERRED"],
                                fields=("part", "position"),
                                name="slot_position_once",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("amount__range", (1, 600))),
                                name="slot_amount_between_1_and_600",
                                violation_error_message="An amount lies between 1 and 600.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("rest_seconds__isnull", True),
                                    ("rest_seconds__lte", 600),
                                    _connector="OR",
                                ),
                                name="slot_rest_at_most_10_minutes",
                                violation_error_message="A rest is at most 600 seconds.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("max_steps_up__lte", 5)),
                                name="slot_steps_up_at_most_5",
                                violation_error_message="At most 5 steps up.",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    (
                                        "rule__in",
                                        ["as_written", "easier_where_needed", "meet_placement"],
                                    )
                                ),
                                name="slot_rule_is_known",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Override",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "note",
                            models.CharField(
                                blank=True, help_text="a word to the family", max_length=200
                            ),
                        ),
                        (
                            "in_spite_of",
                            django.contrib.postgres.fields.ArrayField(
                                base_field=models.CharField(max_length=300),
                                blank=True,
                                default=list,
                                help_text="what checks said",
                            ),
                        ),
                        ("because", models.CharField(blank=True, max_length=300)),
                        ("set_at", models.DateTimeField(auto_now=True)),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="overrides",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "exercise",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="library.exercise",
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
                            "slot",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="overrides",
                                to="program.slot",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["slot", "child"],
                        "constraints": [
                            models.UniqueConstraint(
                                fields=("slot", "child"), name="one_override_per_slot_and_child"
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("because", ""), ("in_spite_of", [])),
                                    models.Q(
                                        models.Q(("in_spite_of", []), _negated=True),
                                        (
                                            "because__regex",
                                            "[^[:space:][:digit:][:punct:]].*[[:space:]].*[^[:space:][:digit:][:punct:]]{2}",
                                        ),
                                    ),
                                    _connector="OR",
                                ),
                                name="override_in_spite_of_a_stop_has_a_reason",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="AssignedSlot",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("part_position", models.PositiveSmallIntegerField()),
                        ("part_name", models.CharField(max_length=60)),
                        (
                            "part_kind",
                            models.CharField(
                                choices=[
                                    ("warm_up", "warm-up"),
                                    ("straight", "straight sets"),
                                    ("superset", "superset"),
                                    ("circuit", "circuit"),
                                    ("cool_down", "cool-down"),
                                ],
                                max_length=9,
                            ),
                        ),
                        ("rounds", models.PositiveSmallIntegerField()),
                        ("part_rest_seconds", models.PositiveSmallIntegerField()),
                        ("position", models.PositiveSmallIntegerField()),
                        ("amount", models.PositiveSmallIntegerField()),
                        ("tempo", models.CharField(blank=True, max_length=12)),
                        ("rest_seconds", models.PositiveSmallIntegerField(null=True)),
                        ("note", models.CharField(blank=True, max_length=200)),
                        (
                            "outcome",
                            models.CharField(
                                choices=[
                                    ("as_written", "as written"),
                                    ("easier", "easier"),
                                    ("harder", "harder"),
                                    ("other", "other"),
                                    ("coach_choice", "the coach's choice"),
                                ],
                                default="as_written",
                                max_length=12,
                            ),
                        ),
                        (
                            "reasons",
                            models.JSONField(
                                default=list, help_text="machine-readable, as the fit engine says"
                            ),
                        ),
                        ("easier_amount", models.PositiveSmallIntegerField(null=True)),
                        ("easier_tempo", models.CharField(blank=True, max_length=12)),
                        (
                            "assigned_session",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="slots",
                                to="program.assignedsession",
                            ),
                        ),
                        (
                            "easier_revision",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="library.exerciserevision",
                            ),
                        ),
                        (
                            "revision",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="library.exerciserevision",
                            ),
                        ),
                        (
                            "written_slot",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="assigned",
                                to="program.slot",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["assigned_session", "part_position", "position"],
                        "constraints": [
                            models.UniqueConstraint(
                                fields=("assigned_session", "part_position", "position"),
                                name="assigned_slot_place_once",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("amount__range", (1, 600))),
                                name="assigned_amount_between_1_and_600",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("easier_revision__isnull", True),
                                    ("easier_amount__range", (1, 600)),
                                    _connector="OR",
                                ),
                                name="easier_option_has_an_amount",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    (
                                        "part_kind__in",
                                        ["warm_up", "straight", "superset", "circuit", "cool_down"],
                                    )
                                ),
                                name="assigned_part_kind_is_known",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    (
                                        "outcome__in",
                                        ["as_written", "easier", "harder", "other", "coach_choice"],
                                    )
                                ),
                                name="outcome_is_known",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="SlotResult",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "state",
                            models.CharField(
                                choices=[
                                    ("done", "done"),
                                    ("some", "some of it"),
                                    ("not", "not done"),
                                ],
                                max_length=4,
                            ),
                        ),
                        ("amount", models.PositiveSmallIntegerField(blank=True, null=True)),
                        ("amount_left", models.PositiveSmallIntegerField(blank=True, null=True)),
                        ("amount_right", models.PositiveSmallIntegerField(blank=True, null=True)),
                        ("took_easier", models.BooleanField(default=False)),
                        (
                            "assigned_slot",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="results",
                                to="program.assignedslot",
                            ),
                        ),
                        (
                            "completion",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="results",
                                to="program.completion",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["completion", "assigned_slot"],
                        "constraints": [
                            models.UniqueConstraint(
                                fields=("completion", "assigned_slot"), name="one_result_per_slot"
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("state__in", ["done", "some", "not"])),
                                name="result_state_is_known",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("amount__isnull", True), ("amount__lte", 600), _connector="OR"
                                ),
                                name="result_amount_at_most_600",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("amount_left__isnull", True),
                                    ("amount_left__lte", 600),
                                    _connector="OR",
                                ),
                                name="result_amount_left_at_most_600",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("amount_right__isnull", True),
                                    ("amount_right__lte", 600),
                                    _connector="OR",
                                ),
                                name="result_amount_right_at_most_600",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="StandingDecision",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "place",
                            models.CharField(
                                choices=[("home", "at home"), ("venue", "at the venue")],
                                max_length=5,
                            ),
                        ),
                        (
                            "needing",
                            django.contrib.postgres.fields.ArrayField(
                                base_field=models.CharField(max_length=60),
                                blank=True,
                                default=list,
                                help_text="items, by slug",
                            ),
                        ),
                        (
                            "missing",
                            models.CharField(
                                blank=True,
                                help_text="what that is called, as it was when it was decided",
                                max_length=120,
                            ),
                        ),
                        ("where_nothing_fits", models.BooleanField(default=True)),
                        (
                            "lasts",
                            models.CharField(
                                choices=[
                                    ("kit", "until the kit changes"),
                                    ("landing", "until placed on landing"),
                                    ("block", "for this block"),
                                    ("day", "until a day"),
                                ],
                                max_length=7,
                            ),
                        ),
                        (
                            "until",
                            models.DateField(
                                blank=True, help_text="the last day it holds", null=True
                            ),
                        ),
                        (
                            "note",
                            models.CharField(
                                blank=True, help_text="a word to the family", max_length=200
                            ),
                        ),
                        (
                            "in_spite_of",
                            django.contrib.postgres.fields.ArrayField(
                                base_field=models.CharField(max_length=300),
                                blank=True,
                                default=list,
                                help_text="what checks said",
                            ),
                        ),
                        ("because", models.CharField(blank=True, max_length=300)),
                        ("set_at", models.DateTimeField()),
                        ("ended_at", models.DateTimeField(blank=True, null=True)),
                        (
                            "block",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="+",
                                to="program.block",
                            ),
                        ),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="standing_decisions",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "cohort",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="+",
                                to="athletes.cohort",
                            ),
                        ),
                        (
                            "ended_by",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "exercise",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="library.exercise",
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
                            "written",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="library.exercise",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["child", "-set_at", "pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                condition=models.Q(
                                    ("ended_at__isnull", True), ("written__isnull", False)
                                ),
                                fields=("child", "cohort", "place", "written"),
                                name="decided_once_per_exercise",
                            ),
                            models.UniqueConstraint(
                                condition=models.Q(
                                    ("ended_at__isnull", True), ("written__isnull", True)
                                ),
                                fields=("child", "cohort", "place", "needing"),
                                name="decided_once_per_missing_thing",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("missing", ""), ("needing", []), ("written__isnull", False)
                                    ),
                                    models.Q(
                                        ("exercise__isnull", True),
                                        ("where_nothing_fits", True),
                                        ("written__isnull", True),
                                        models.Q(("needing", []), _negated=True),
                                        models.Q(("missing", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                name="decided_about_an_exercise_or_about_something_missing",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(
                                        ("block__isnull", True),
                                        ("lasts__in", ["kit", "landing"]),
                                        ("until__isnull", True),
                                    ),
                                    models.Q(
                                        ("block__isnull", False),
                                        ("lasts", "block"),
                                        ("until__isnull", True),
                                    ),
                                    models.Q(
                                        ("block__isnull", True),
                                        ("lasts", "day"),
                                        ("until__isnull", False),
                                    ),
                                    _connector="OR",
                                ),
                                name="decision_lasts_as_it_says",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("place__in", ["home", "venue"])),
                                name="decision_place_is_known",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("because", ""), ("in_spite_of", [])),
                                    models.Q(
                                        models.Q(("in_spite_of", []), _negated=True),
                                        (
                                            "because__regex",
                                            "[^[:space:][:digit:][:punct:]].*[[:space:]].*[^[:space:][:digit:][:punct:]]{2}",
                                        ),
                                    ),
                                    _connector="OR",
                                ),
                                name="decision_in_spite_of_a_stop_has_a_reason",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="StopReason",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("code", models.CharField(help_text="the code of the rule", max_length=40)),
                        (
                            "sentence",
                            models.CharField(help_text="what the check said", max_length=300),
                        ),
                        (
                            "children",
                            django.contrib.postgres.fields.ArrayField(
                                base_field=models.BigIntegerField(),
                                default=list,
                                help_text="whom it meant",
                            ),
                        ),
                        ("reason", models.CharField(max_length=300)),
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
                            "session",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="stop_reasons",
                                to="program.session",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["session", "-at"],
                        "constraints": [
                            models.UniqueConstraint(
                                fields=("session", "code", "sentence", "children"),
                                name="one_reason_per_stop",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    (
                                        "reason__regex",
                                        "[^[:space:][:digit:][:punct:]].*[[:space:]].*[^[:space:][:digit:][:punct:]]{2}",
                                    )
                                ),
                                name="stop_reason_is_words",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Submission",
                    fields=[
                        ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                        (
                            "kind",
                            models.CharField(
                                choices=[
                                    ("started", "started"),
                                    ("easier", "took the easier option"),
                                    ("pain", "something hurts"),
                                    ("log", "log"),
                                    ("ask", "question"),
                                ],
                                max_length=7,
                            ),
                        ),
                        (
                            "state",
                            models.CharField(
                                choices=[
                                    ("written", "written"),
                                    ("conflict", "another log was there"),
                                    ("refused", "could not be written"),
                                    ("settled", "looked at"),
                                ],
                                max_length=8,
                            ),
                        ),
                        (
                            "sentence",
                            models.CharField(
                                blank=True, help_text="what the sender is told", max_length=300
                            ),
                        ),
                        ("payload", models.JSONField(blank=True, default=dict)),
                        ("received_at", models.DateTimeField()),
                        (
                            "assigned_session",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="submissions",
                                to="program.assignedsession",
                            ),
                        ),
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
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="+",
                                to="athletes.child",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["received_at"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("kind__in", ["started", "easier", "pain", "log", "ask"])
                                ),
                                name="submission_kind_is_known",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("state__in", ["written", "conflict", "refused", "settled"])
                                ),
                                name="submission_state_is_known",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="TakenOutSession",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("public_id", models.UUIDField(unique=True)),
                        ("name", models.CharField(max_length=80)),
                        ("date", models.DateField()),
                        ("taken_out_at", models.DateTimeField()),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="+",
                                to="athletes.child",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["date"],
                    },
                ),
                migrations.CreateModel(
                    name="Template",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("name", models.CharField(max_length=80)),
                        (
                            "kind",
                            models.CharField(
                                choices=[
                                    ("part", "part"),
                                    ("session", "session"),
                                    ("block", "block"),
                                ],
                                max_length=7,
                            ),
                        ),
                        (
                            "content",
                            models.JSONField(
                                help_text="outlines of its sessions, each with its day in the block"
                            ),
                        ),
                        ("made_at", models.DateTimeField(auto_now_add=True)),
                        (
                            "made_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["kind", "name", "pk"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(("name", ""), _negated=True),
                                name="template_has_a_name",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("kind__in", ["part", "session", "block"])),
                                name="template_kind_is_known",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="UploadAttempt",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("at", models.DateTimeField()),
                        (
                            "by",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "indexes": [models.Index(fields=["by", "at"], name="attempts_of_a_person")],
                    },
                ),
                migrations.CreateModel(
                    name="WayBackStep",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "region",
                            models.CharField(
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
                                help_text="empty for the whole body",
                                max_length=12,
                            ),
                        ),
                        (
                            "side",
                            models.CharField(
                                choices=[
                                    ("left", "left"),
                                    ("right", "right"),
                                    ("both", "both sides"),
                                ],
                                default="both",
                                max_length=5,
                            ),
                        ),
                        (
                            "step",
                            models.CharField(
                                choices=[
                                    ("pain_free", "a day without pain"),
                                    ("easier", "easier exercises"),
                                    ("half", "half as much"),
                                    ("lighter", "a lighter week"),
                                ],
                                max_length=9,
                            ),
                        ),
                        ("since", models.DateField()),
                        (
                            "until",
                            models.DateField(
                                blank=True, help_text="the last day of a lighter week", null=True
                            ),
                        ),
                        ("set_at", models.DateTimeField(auto_now_add=True)),
                        (
                            "ended_on",
                            models.DateField(
                                blank=True, help_text="the first day without it", null=True
                            ),
                        ),
                        (
                            "child",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="way_back_steps",
                                to="athletes.child",
                            ),
                        ),
                        (
                            "ended_by",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
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
                    ],
                    options={
                        "ordering": ["since", "pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                condition=models.Q(("ended_on__isnull", True)),
                                fields=("child", "region", "side"),
                                name="one_step_of_the_way_back_at_a_time",
                            ),
                            models.CheckConstraint(
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
                                        ("step__in", ["pain_free", "easier", "half"]),
                                        ("until__isnull", True),
                                    ),
                                    models.Q(
                                        ("region", ""),
                                        ("side", "both"),
                                        ("step", "lighter"),
                                        ("until__gte", models.F("since")),
                                        ("until__isnull", False),
                                    ),
                                    _connector="OR",
                                ),
                                name="way_back_of_a_place_or_a_lighter_week",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(("side__in", ["left", "right", "both"])),
                                name="way_back_side_is_known",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("ended_on__isnull", True),
                                    ("ended_on__gte", models.F("since")),
                                    _connector="OR",
                                ),
                                name="way_back_step_ends_after_it_begins",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="WelfareOfficer",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        ("named_at", models.DateTimeField()),
                        ("in_force_since", models.DateTimeField(null=True)),
                        ("ending_asked_at", models.DateTimeField(null=True)),
                        ("ended_at", models.DateTimeField(null=True)),
                        (
                            "confirmed_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "ended_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "ending_asked_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "named_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "person",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="welfare_offices",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["named_at", "pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                condition=models.Q(("ended_at__isnull", True)),
                                fields=("person",),
                                name="an_officer_is_named_once",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("confirmed_by__isnull", True),
                                    ("named_by__isnull", True),
                                    models.Q(("confirmed_by", models.F("named_by")), _negated=True),
                                    (
                                        "in_force_since__gte",
                                        django.db.models.expressions.CombinedExpression(
                                            models.F("named_at"),
                                            "+",
                                            models.Value(datetime.timedelta(days=1)),
                                        ),
                                    ),
                                    _connector="OR",
                                ),
                                name="naming_an_officer_takes_a_second_person_or_a_day",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("confirmed_by__isnull", True),
                                    models.Q(("confirmed_by", models.F("person")), _negated=True),
                                    (
                                        "in_force_since__gte",
                                        django.db.models.expressions.CombinedExpression(
                                            models.F("named_at"),
                                            "+",
                                            models.Value(datetime.timedelta(days=1)),
                                        ),
                                    ),
                                    _connector="OR",
                                ),
                                name="no_officer_is_agreed_to_by_themself_at_once",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    ("ended_by__isnull", True),
                                    ("ending_asked_by__isnull", True),
                                    models.Q(
                                        ("ended_by", models.F("ending_asked_by")), _negated=True
                                    ),
                                    (
                                        "ended_at__gte",
                                        django.db.models.expressions.CombinedExpression(
                                            models.F("ending_asked_at"),
                                            "+",
                                            models.Value(datetime.timedelta(days=1)),
                                        ),
                                    ),
                                    _connector="OR",
                                ),
                                name="taking_an_officer_off_takes_a_second_person_or_a_day",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="WelfareWords",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True,
                                primary_key=True,
                                serialize=False,
                                verbose_name="ID",
                            ),
                        ),
                        (
                            "whom_to_ring",
                            models.CharField(
                                blank=True,
                                help_text="names and numbers, as families read them; also somebody outside the program",
                                max_length=600,
                                verbose_name="Whom to ring",
                            ),
                        ),
                        (
                            "emergency_number",
                            models.CharField(
                                blank=True,
                                help_text="such as 112 or 999",
                                max_length=20,
                                verbose_name="Emergency number where you are",
                            ),
                        ),
                        ("at", models.DateTimeField(null=True)),
                        (
                            "by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "verbose_name_plural": "welfare words",
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(("pk", 1)), name="one_row_of_welfare_words"
                            )
                        ],
                    },
                ),
            ]
        ),
        migrations.RunSQL(CACHE, "DROP TABLE program_cache;"),
        migrations.RunSQL(
            WHAT_A_FAMILY_HAD_NEVER_CHANGES,
            "DROP TRIGGER earlier_report_is_immutable ON program_earlierreport;"
            "DROP FUNCTION program_earlier_report_is_immutable();",
        ),
        # What fit knows of the library is read anew with every recall.
        migrations.RunSQL(
            "CREATE TRIGGER renew_edition AFTER INSERT OR UPDATE OR DELETE OR TRUNCATE"
            " ON program_recall FOR EACH STATEMENT EXECUTE FUNCTION library_renew_edition();",
            "DROP TRIGGER renew_edition ON program_recall;",
        ),
    ]
