"""Every log that says that something was done says on what day.

Of those from before nobody was asked. At home it was the day on which the session was begun, where
that is known to have been before the day on which it was logged; otherwise the day it was written
for, which load and effort went by until now, or the day it was logged, if that was earlier. In the
hall it was the session's own day.
"""

import django.db.models.functions.comparison
from django.conf import settings
from django.db import migrations, models

FILLED = """
UPDATE program_completion log SET done_on = day.done_on
FROM (
    SELECT log.id,
        CASE
            WHEN given.place = 'home'
                AND (given.started_at AT TIME ZONE %(zone)s)::date
                    < (log.logged_at AT TIME ZONE %(zone)s)::date
            THEN (given.started_at AT TIME ZONE %(zone)s)::date
            ELSE LEAST(given.date, (log.logged_at AT TIME ZONE %(zone)s)::date)
        END AS done_on
    FROM program_completion log
    JOIN program_assignedsession given ON given.id = log.assigned_session_id
    WHERE log.state <> 'not'
) day
WHERE day.id = log.id
"""


def fill(apps, schema_editor):
    with schema_editor.connection.cursor() as cursor:
        cursor.execute(FILLED, {"zone": settings.TIME_ZONE})


class Migration(migrations.Migration):
    dependencies = [
        ("program", "0061_names_of_indexes"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="completion",
            name="done_on",
            field=models.DateField(
                blank=True,
                help_text="the day it was done, whatever day it was written for",
                null=True,
            ),
        ),
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.AddConstraint(
            model_name="completion",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("done_on__isnull", True), ("state", "not")),
                    models.Q(models.Q(("state", "not"), _negated=True), ("done_on__isnull", False)),
                    _connector="OR",
                ),
                name="what_was_done_was_done_on_a_day",
            ),
        ),
        migrations.AddConstraint(
            model_name="completion",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("done_on__isnull", True),
                    (
                        "done_on__lte",
                        models.Func(
                            django.db.models.functions.comparison.Coalesce(
                                models.F("edited_at"), models.F("logged_at")
                            ),
                            output_field=models.DateField(),
                            template="((%(expressions)s AT TIME ZONE 'UTC') + interval '14 hours')::date",
                        ),
                    ),
                    _connector="OR",
                ),
                name="done_before_it_was_told",
                violation_error_message="That day has not come yet.",
            ),
        ),
    ]
