"""Row security on what is reported to welfare officers: who may see all else, a head coach, reads
nothing of it. The program itself is whoever sees all while nobody acts.

A function in a policy knows its tables by itself: pg_dump reads with an empty search path."""

from django.db import migrations

IS_OFFICER = """
CREATE FUNCTION acting_is_officer() RETURNS boolean LANGUAGE sql STABLE
SET search_path FROM CURRENT AS $$
    SELECT EXISTS (
        SELECT FROM program_welfareofficer o JOIN athletes_user u ON u.id = o.person_id
        WHERE o.person_id = acting_person() AND u.is_active
            AND o.in_force_since IS NOT NULL AND o.ended_at IS NULL
    )
$$;
"""
PROGRAM = "(SELECT acting_sees_all() AND acting_person() IS NULL)"
OFFICER = "(SELECT acting_is_officer())"
ME = "(SELECT acting_person())"
ACTIVE = f"EXISTS (SELECT FROM athletes_user u WHERE u.id = {ME} AND u.is_active)"
AS_OFFICER = f"""
    {OFFICER} AND kept_from_id IS DISTINCT FROM {ME} AND by_id IS DISTINCT FROM {ME}
"""
OF_AN_OFFICERS = f"""
    {OFFICER} AND EXISTS (
        SELECT FROM program_concern of WHERE of.id = concern_id AND of.by_id IS DISTINCT FROM {ME}
    )
"""
READ = {
    "program_concern": f"{AS_OFFICER} OR by_id = {ME} AND {ACTIVE}",
    "program_concernentry": f"""
        {OF_AN_OFFICERS} OR kind = 'added' AND EXISTS (
            SELECT FROM program_concern of WHERE of.id = concern_id AND of.by_id = {ME}
        )
    """,
    "program_concernlook": OF_AN_OFFICERS,
}
LOOKS = f"""
CREATE POLICY whoever_looks_stands_in_the_log ON program_concernlook FOR INSERT
    WITH CHECK (by_id = {ME} AND {OF_AN_OFFICERS});
"""


def secure(table, read):
    return f"""
        ALTER TABLE {table} ENABLE ROW LEVEL SECURITY;
        ALTER TABLE {table} FORCE ROW LEVEL SECURITY;
        CREATE POLICY all_of_it_for_the_program ON {table} USING ({PROGRAM});
        CREATE POLICY for_officers_and_whoever_reported ON {table} FOR SELECT USING ({read});
    """


def unsecure(table):
    return f"""
        DROP POLICY for_officers_and_whoever_reported ON {table};
        DROP POLICY all_of_it_for_the_program ON {table};
        ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY;
        ALTER TABLE {table} DISABLE ROW LEVEL SECURITY;
    """


class Migration(migrations.Migration):
    dependencies = [("program", "0035_record_changes")]

    operations = [
        migrations.RunSQL(IS_OFFICER, "DROP FUNCTION acting_is_officer();"),
        *(migrations.RunSQL(secure(table, read), unsecure(table)) for table, read in READ.items()),
        migrations.RunSQL(
            LOOKS, "DROP POLICY whoever_looks_stands_in_the_log ON program_concernlook;"
        ),
    ]
