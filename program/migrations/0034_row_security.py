"""Row security on what a child was given, did and said; see `athletes/0017_row_security`.

What hangs on an assigned session has its child beside it, filled in by a trigger and known to the
database alone: thousands of rows are read for a coach's page, and asking for the session of each
would take longer than reading them.
"""

from django.db import migrations

OF_CHILDREN = "child_id = ANY ((SELECT acting_children())::bigint[])"
REMEMBERED = "child_id = ANY ((SELECT acting_remembered_children())::bigint[])"
OWN_COHORT = "cohort_id = ANY ((SELECT acting_cohorts())::bigint[])"


def of(table, column):
    """Rows of what is the reader's, which the other table's own policy says."""
    return f"EXISTS (SELECT FROM {table} of WHERE of.id = {column})"


def its(what):
    return what.replace("child_id", "row_child", 1)


# The table, and which column leads to whose child.
BESIDE = {
    "program_assignedslot": ("assigned_session_id", "program_assignedsession", "child_id"),
    "program_completion": ("assigned_session_id", "program_assignedsession", "child_id"),
    "program_slotresult": ("completion_id", "program_completion", "row_child"),
}

READ = {
    "program_assignedsession": f"""
        {OF_CHILDREN} OR {REMEMBERED} AND EXISTS (
            SELECT FROM program_session s JOIN program_block b ON b.id = s.block_id
            WHERE s.id = session_id AND b.{OWN_COHORT}
        )
    """,
    **{
        table: f"{its(OF_CHILDREN)} OR {its(REMEMBERED)} AND {of(parent, column)}"
        for table, (column, parent, _) in BESIDE.items()
    },
    "program_painreport": f"""
        {OF_CHILDREN} OR {REMEMBERED} AND {of("program_assignedsession", "assigned_session_id")}
    """,
    "program_override": OF_CHILDREN,
    "program_submission": OF_CHILDREN,
    "program_takenoutsession": OF_CHILDREN,
    "program_question": OF_CHILDREN,
    "program_report": f"""
        {OF_CHILDREN} AND sent_at IS NOT NULL OR {REMEMBERED} AND EXISTS (
            SELECT FROM program_block b WHERE b.id = block_id AND b.{OWN_COHORT}
        )
    """,
    "program_earlierreport": f"""
        EXISTS (
            SELECT FROM program_report of JOIN program_block b ON b.id = of.block_id
            WHERE of.id = report_id AND b.{OWN_COHORT}
        )
    """,
    "program_resolution": OF_CHILDREN,
    "program_refit": OF_CHILDREN,
    "program_waybackstep": OF_CHILDREN,
    "program_doseraise": of("athletes_placement", "placement_id"),
    "program_childcopy": f"{OF_CHILDREN} AND asked_by_id = (SELECT acting_person())",
    "program_erasure": OF_CHILDREN,
}


def child_beside(table):
    column, parent, child = BESIDE[table]
    name = table.removeprefix("program_")
    return f"""
        ALTER TABLE {table} ADD COLUMN row_child bigint;
        UPDATE {table} SET row_child = of.{child} FROM {parent} of WHERE of.id = {column};
        ALTER TABLE {table} ALTER COLUMN row_child SET NOT NULL;
        CREATE FUNCTION {name}_child() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN
            SELECT of.{child} INTO NEW.row_child FROM {parent} of WHERE of.id = NEW.{column};
            RETURN NEW;
        END $$;
        CREATE TRIGGER child_beside BEFORE INSERT OR UPDATE OF {column}, row_child ON {table}
            FOR EACH ROW EXECUTE FUNCTION {name}_child();
    """


def no_child_beside(table):
    name = table.removeprefix("program_")
    return f"""
        DROP TRIGGER child_beside ON {table};
        DROP FUNCTION {name}_child();
        ALTER TABLE {table} DROP COLUMN row_child;
    """


def secure(table, read):
    """Of policies Postgres asks the first by name first: for the program no row is looked at."""
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
        ("program", "0033_upload_attempts"),
        ("athletes", "0017_row_security"),
    ]

    operations = [
        *(migrations.RunSQL(child_beside(table), no_child_beside(table)) for table in BESIDE),
        *(migrations.RunSQL(secure(table, read), unsecure(table)) for table, read in READ.items()),
    ]
