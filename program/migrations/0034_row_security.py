"""Row security on what a child was given, did and said; see `athletes/0017_row_security`.

An assigned session has its cohort beside it, and what hangs on one its child and cohort, filled in
by triggers and known to the database alone: a policy that asked another table would be dear for
thousands of rows, and have Postgres join them in another order.
"""

from django.db import migrations

OF_CHILDREN = "child_id = ANY ((SELECT acting_children())::bigint[])"
REMEMBERED = "child_id = ANY ((SELECT acting_remembered_children())::bigint[])"
OWN_COHORT = "cohort_id = ANY ((SELECT acting_cohorts())::bigint[])"


def of(table, column):
    """Rows of what is the reader's, which the other table's own policy says."""
    return f"EXISTS (SELECT FROM {table} of WHERE of.id = {column})"


THEIRS = "row_child = ANY ((SELECT acting_children())::bigint[])"
THEIRS_REMEMBERED = "row_child = ANY ((SELECT acting_remembered_children())::bigint[])"
IN_OWN_COHORT = "row_cohort = ANY ((SELECT acting_cohorts())::bigint[])"

# What is filled in from where: the column, and the rows it is in.
OF_SESSION = (
    ("row_cohort", "b.cohort_id"),
    "program_session s JOIN program_block b ON b.id = s.block_id WHERE s.id = {row}.session_id",
)
OF_ASSIGNED = (
    ("row_child", "of.child_id"),
    ("row_cohort", "of.row_cohort"),
    "program_assignedsession of WHERE of.id = {row}.assigned_session_id",
)
OF_COMPLETION = (
    ("row_child", "of.row_child"),
    ("row_cohort", "of.row_cohort"),
    "program_completion of WHERE of.id = {row}.completion_id",
)
BESIDE = {
    "program_assignedsession": ("session_id", OF_SESSION),
    "program_assignedslot": ("assigned_session_id", OF_ASSIGNED),
    "program_completion": ("assigned_session_id", OF_ASSIGNED),
    "program_slotresult": ("completion_id", OF_COMPLETION),
    "program_painreport": ("assigned_session_id", OF_ASSIGNED[1:]),
}

READ = {
    "program_assignedsession": f"{OF_CHILDREN} OR {REMEMBERED} AND {IN_OWN_COHORT}",
    "program_assignedslot": f"{THEIRS} OR {THEIRS_REMEMBERED} AND {IN_OWN_COHORT}",
    "program_completion": f"{THEIRS} OR {THEIRS_REMEMBERED} AND {IN_OWN_COHORT}",
    "program_slotresult": f"{THEIRS} OR {THEIRS_REMEMBERED} AND {IN_OWN_COHORT}",
    "program_painreport": f"{OF_CHILDREN} OR {REMEMBERED} AND {IN_OWN_COHORT}",
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


def beside(table):
    column, (*filled, rows) = BESIDE[table]
    name = table.removeprefix("program_")
    names = [each for each, _ in filled]
    found = ", ".join(source for _, source in filled)
    adding = ", ".join(f"ADD COLUMN {each} bigint" for each in names)
    return f"""
        ALTER TABLE {table} {adding};
        UPDATE {table} AS row SET ({", ".join(names)}) = ROW (
            (SELECT {f" FROM {rows.format(row='row')}), (SELECT ".join(s for _, s in filled)}
                FROM {rows.format(row="row")})
        );
        CREATE FUNCTION {name}_beside() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN
            SELECT {found} INTO {", ".join(f"NEW.{each}" for each in names)}
                FROM {rows.format(row="NEW")};
            RETURN NEW;
        END $$;
        CREATE TRIGGER whose_it_is BEFORE INSERT OR UPDATE OF {", ".join([column, *names])}
            ON {table} FOR EACH ROW EXECUTE FUNCTION {name}_beside();
    """


def not_beside(table):
    _, (*filled, _) = BESIDE[table]
    name = table.removeprefix("program_")
    dropping = ", ".join(f"DROP COLUMN {each}" for each, _ in filled)
    return f"""
        DROP TRIGGER whose_it_is ON {table};
        DROP FUNCTION {name}_beside();
        ALTER TABLE {table} {dropping};
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
        ("program", "0001_squashed_0058_attendance"),
        ("athletes", "0017_row_security"),
    ]

    operations = [
        *(migrations.RunSQL(beside(table), not_beside(table)) for table in BESIDE),
        *(migrations.RunSQL(secure(table, read), unsecure(table)) for table, read in READ.items()),
    ]
