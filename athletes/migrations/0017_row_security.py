"""Row security: what a page may read is also a rule of the database.

`act_as` says for one transaction who acts, and whose rows are therefore theirs; policies hold every
table with a child's data to it. A connection begins as the program itself, which sees all
(`program/config/database.py`); one that does not say so sees nothing.
"""

from django.db import migrations

# Each is inlined, and asked once for a query.
SETTINGS = """
CREATE FUNCTION acting_sees_all() RETURNS boolean LANGUAGE sql STABLE PARALLEL SAFE AS
$$ SELECT coalesce(current_setting('fledge.sees_all', true), '') = 'on' $$;

CREATE FUNCTION acting_person() RETURNS bigint LANGUAGE sql STABLE PARALLEL SAFE AS
$$ SELECT nullif(current_setting('fledge.acting', true), '')::bigint $$;
"""
SET_OF = """
CREATE FUNCTION acting_{name}() RETURNS bigint[] LANGUAGE sql STABLE PARALLEL SAFE AS
$$ SELECT nullif(current_setting('fledge.{name}', true), '')::bigint[] $$;
"""
SETS = ("cohorts", "children", "remembered", "remembered_children")

ACT_AS = """
CREATE FUNCTION act_as(person bigint, today date) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    is_known boolean;
    is_coach boolean;
    is_head_coach boolean;
    history integer;
BEGIN
    PERFORM set_config('fledge.sees_all', 'on', true);  -- to find out
    SELECT true, role IN ('coach', 'head_coach'), role = 'head_coach'
        INTO is_known, is_coach, is_head_coach
        FROM athletes_user WHERE id = person AND is_active;
    SELECT coalesce(max(history_days), 90) INTO history FROM athletes_accessrules WHERE id = 1;
    PERFORM set_config('fledge.acting', person::text, true);
    PERFORM set_config('fledge.cohorts', ARRAY(
        SELECT cohort_id FROM athletes_cohort_coaches WHERE user_id = person AND is_coach
    )::text, true);
    PERFORM set_config('fledge.children', ARRAY(
        SELECT child_id FROM athletes_guardianship WHERE guardian_id = person AND is_known
        UNION SELECT id FROM athletes_child WHERE user_id = person AND is_known
        UNION SELECT child_id FROM athletes_enrolment
            WHERE cohort_id = ANY (acting_cohorts()) AND ("end" IS NULL OR "end" >= today)
    )::text, true);
    PERFORM set_config('fledge.remembered', ARRAY(
        SELECT id FROM athletes_enrolment
            WHERE cohort_id = ANY (acting_cohorts())
                AND ("end" IS NULL OR "end" + history >= today)
    )::text, true);
    PERFORM set_config('fledge.remembered_children', ARRAY(
        SELECT child_id FROM athletes_enrolment WHERE id = ANY (acting_remembered())
        UNION SELECT unnest(acting_children())
    )::text, true);
    PERFORM set_config(
        'fledge.sees_all', CASE WHEN is_head_coach THEN 'on' ELSE 'off' END, true
    );
END $$;
"""

OF_CHILDREN = "child_id = ANY ((SELECT acting_children())::bigint[])"
READ = {
    "athletes_child": "id = ANY ((SELECT acting_remembered_children())::bigint[])",
    "athletes_enrolment": f"{OF_CHILDREN} OR id = ANY ((SELECT acting_remembered())::bigint[])",
    "athletes_guardianship": OF_CHILDREN,
    "athletes_homekit": OF_CHILDREN,
    "athletes_homekit_items": "EXISTS (SELECT FROM athletes_homekit of WHERE of.id = homekit_id)",
    "athletes_restriction": OF_CHILDREN,
    "athletes_restriction_without": (
        "EXISTS (SELECT FROM athletes_restriction of WHERE of.id = restriction_id)"
    ),
    "athletes_placement": OF_CHILDREN,
    "athletes_growthconsent": OF_CHILDREN,
    "athletes_growthmeasurement": f"""
        {OF_CHILDREN} AND NOT EXISTS (
            SELECT FROM athletes_child of WHERE of.id = child_id AND of.user_id = acting_person()
        )
    """,
    "athletes_invitation": f"invited_by_id = (SELECT acting_person()) OR {OF_CHILDREN}",
    "athletes_importdraft": "owner_id = (SELECT acting_person())",
    "athletes_outgoingmail": (
        "EXISTS (SELECT FROM athletes_invitation of WHERE of.id = invitation_id)"
    ),
}


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
    dependencies = [("athletes", "0016_a_head_coach_stays_on")]

    operations = [
        migrations.RunSQL(
            SETTINGS, "DROP FUNCTION acting_sees_all(); DROP FUNCTION acting_person();"
        ),
        *(
            migrations.RunSQL(SET_OF.format(name=name), f"DROP FUNCTION acting_{name}();")
            for name in SETS
        ),
        migrations.RunSQL(ACT_AS, "DROP FUNCTION act_as(bigint, date);"),
        *(migrations.RunSQL(secure(table, read), unsecure(table)) for table, read in READ.items()),
    ]
