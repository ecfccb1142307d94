"""Who was in the hall without a session is read and written by whoever may see the child, and by the
cohort's coaches as long as they look back on it, as a log is; see `0034_row_security` and
`0038_row_security_of_what_is_sent`."""

import importlib

from django.db import migrations

READ = importlib.import_module("athletes.migrations.0017_row_security")
SENT = importlib.import_module("athletes.migrations.0022_row_security_of_what_is_sent")
TABLE = "program_attendance"
REMEMBERED = "child_id = ANY ((SELECT acting_remembered_children())::bigint[])"
OF_OWN_COHORT = """EXISTS (
    SELECT FROM program_session s JOIN program_block b ON b.id = s.block_id
    WHERE s.id = session_id AND b.cohort_id = ANY ((SELECT acting_cohorts())::bigint[])
)"""
THEIRS = f"{READ.OF_CHILDREN} OR {REMEMBERED} AND {OF_OWN_COHORT}"


class Migration(migrations.Migration):
    dependencies = [("program", "0055_row_security_of_read_by_family")]

    operations = [
        migrations.RunSQL(READ.secure(TABLE, THEIRS), READ.unsecure(TABLE)),
        migrations.RunSQL(SENT.secure(TABLE, THEIRS), SENT.unsecure(TABLE)),
    ]
