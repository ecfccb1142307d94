"""Row security on what a child was given, did and said; see `athletes/0015_row_security`."""

from django.db import migrations

OF_CHILDREN = "child_id IN (SELECT acting_children())"
REMEMBERED = "child_id IN (SELECT acting_remembered_children())"


def of(table, column):
    """Rows of what is the reader's, which the other table's own policy says."""
    return f"EXISTS (SELECT FROM {table} of WHERE of.id = {column})"


READ = {
    "program_assignedsession": f"""
        {OF_CHILDREN} OR {REMEMBERED} AND EXISTS (
            SELECT FROM program_session s JOIN program_block b ON b.id = s.block_id
            WHERE s.id = session_id AND b.cohort_id IN (SELECT acting_cohorts())
        )
    """,
    "program_assignedslot": of("program_assignedsession", "assigned_session_id"),
    "program_completion": of("program_assignedsession", "assigned_session_id"),
    "program_slotresult": of("program_completion", "completion_id"),
    "program_painreport": f"""
        {OF_CHILDREN} OR {REMEMBERED} AND {of("program_assignedsession", "assigned_session_id")}
    """,
    "program_override": OF_CHILDREN,
    "program_submission": OF_CHILDREN,
    "program_takenoutsession": OF_CHILDREN,
    "program_question": OF_CHILDREN,
    "program_report": f"""
        {OF_CHILDREN} AND sent_at IS NOT NULL OR {REMEMBERED} AND EXISTS (
            SELECT FROM program_block b
            WHERE b.id = block_id AND b.cohort_id IN (SELECT acting_cohorts())
        )
    """,
    "program_earlierreport": of("program_report", "report_id"),
    "program_resolution": OF_CHILDREN,
    "program_refit": OF_CHILDREN,
    "program_waybackstep": OF_CHILDREN,
    "program_doseraise": of("athletes_placement", "placement_id"),
    "program_childcopy": f"{OF_CHILDREN} AND asked_by_id = acting_person()",
    "program_erasure": OF_CHILDREN,
}


def secure(table, read):
    return f"""
        ALTER TABLE {table} ENABLE ROW LEVEL SECURITY;
        ALTER TABLE {table} FORCE ROW LEVEL SECURITY;
        CREATE POLICY all_of_it_for_the_program ON {table} USING ((SELECT acting_sees_all()));
        CREATE POLICY ones_own_to_read ON {table} FOR SELECT USING ({read});
    """


def unsecure(table):
    return f"""
        DROP POLICY ones_own_to_read ON {table};
        DROP POLICY all_of_it_for_the_program ON {table};
        ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY;
        ALTER TABLE {table} DISABLE ROW LEVEL SECURITY;
    """


class Migration(migrations.Migration):
    dependencies = [
        ("program", "0032_sealed_calendar_keys"),
        ("athletes", "0015_row_security"),
    ]

    operations = [
        migrations.RunSQL(secure(table, read), unsecure(table)) for table, read in READ.items()
    ]
