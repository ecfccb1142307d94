"""Two indexes of a database older than `0001_squashed_0058_attendance` have the names that a new
one gives them."""

from django.db import migrations

NAMES = {
    "program_calendarfeed_key_digest_f10bbeb1_uniq": "program_calendarfeed_key_digest_key",
    "program_painreport_seen_by_id_15e484c8": "program_painreport_answered_by_id_ee462d11",
}


class Migration(migrations.Migration):
    dependencies = [("program", "0060_attendance_is_of_the_cohort")]

    operations = [
        migrations.RunSQL(f"ALTER INDEX IF EXISTS {before} RENAME TO {now}", migrations.RunSQL.noop)
        for before, now in NAMES.items()
    ]
