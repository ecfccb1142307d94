"""Row security: what somebody sends is held to them as well, not only what they read.

`fledge.writes` says for one transaction that who acts may write; a page that is only read does not
say it. What a trigger of ours reads is the program's, whoever's change it guards: a rule must see
the rows that its reader may not.
"""

from django.db import migrations

SEES_ALL = """
CREATE OR REPLACE FUNCTION acting_sees_all() RETURNS boolean
    LANGUAGE sql STABLE PARALLEL RESTRICTED AS
$$ SELECT coalesce(current_setting('fledge.sees_all', true), '') = 'on' OR pg_trigger_depth() > 0 $$;

CREATE FUNCTION acting_writes() RETURNS boolean LANGUAGE sql STABLE PARALLEL SAFE AS
$$ SELECT coalesce(current_setting('fledge.writes', true), '') = 'on' $$;

CREATE OR REPLACE FUNCTION acting_writer() RETURNS bigint LANGUAGE sql STABLE PARALLEL SAFE AS
$$ SELECT acting_person() $$;
"""
SEES_ALL_BEFORE = """
CREATE OR REPLACE FUNCTION acting_writer() RETURNS bigint LANGUAGE sql STABLE PARALLEL SAFE AS $$
    SELECT coalesce(nullif(current_setting('fledge.by', true), '')::bigint, acting_person())
$$;

DROP FUNCTION acting_writes();

CREATE OR REPLACE FUNCTION acting_sees_all() RETURNS boolean LANGUAGE sql STABLE PARALLEL SAFE AS
$$ SELECT coalesce(current_setting('fledge.sees_all', true), '') = 'on' $$;
"""

# What is chosen anew for a child is done as nobody, who has this child alone.
ACT_FOR_CHILD = """
CREATE FUNCTION act_for_child(child bigint, today date) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    PERFORM act_as(NULL, today);
    PERFORM set_config('fledge.sees_all', 'on', true);  -- to find out
    PERFORM set_config('fledge.children', ARRAY[child]::text, true);
    PERFORM set_config('fledge.remembered_children', ARRAY[child]::text, true);
    PERFORM set_config('fledge.cohorts', ARRAY(
        SELECT DISTINCT cohort_id FROM athletes_enrolment WHERE child_id = child
    )::text, true);
    PERFORM set_config('fledge.writes', 'on', true);
    PERFORM set_config('fledge.sees_all', 'off', true);
END $$;
"""

OF_CHILDREN = "child_id = ANY ((SELECT acting_children())::bigint[])"
MINE = "(SELECT acting_person())"
WRITE = {
    "athletes_child": "id = ANY ((SELECT acting_children())::bigint[])",
    "athletes_enrolment": OF_CHILDREN,
    "athletes_guardianship": OF_CHILDREN,
    "athletes_homekit": OF_CHILDREN,
    "athletes_homekit_items": "EXISTS (SELECT FROM athletes_homekit of WHERE of.id = homekit_id)",
    "athletes_restriction": OF_CHILDREN,
    "athletes_restriction_without": (
        "EXISTS (SELECT FROM athletes_restriction of WHERE of.id = restriction_id)"
    ),
    "athletes_placement": OF_CHILDREN,
    "athletes_growthconsent": OF_CHILDREN,
    "athletes_growthmeasurement": OF_CHILDREN,
    "athletes_invitation": f"invited_by_id = {MINE} OR {OF_CHILDREN}",
    "athletes_importdraft": f"owner_id = {MINE}",
}


def secure(table, write):
    return f"""
        CREATE POLICY ones_own_to_add ON {table} FOR INSERT
            WITH CHECK ((SELECT acting_writes()) AND ({write}));
        CREATE POLICY ones_own_to_change ON {table} FOR UPDATE
            USING ((SELECT acting_writes()) AND ({write}));
        CREATE POLICY ones_own_to_remove ON {table} FOR DELETE
            USING ((SELECT acting_writes()) AND ({write}));
    """


def unsecure(table):
    return f"""
        DROP POLICY ones_own_to_remove ON {table};
        DROP POLICY ones_own_to_change ON {table};
        DROP POLICY ones_own_to_add ON {table};
    """


class Migration(migrations.Migration):
    dependencies = [("athletes", "0021_record_changes")]

    operations = [
        migrations.RunSQL(SEES_ALL, SEES_ALL_BEFORE),
        migrations.RunSQL(ACT_FOR_CHILD, "DROP FUNCTION act_for_child(bigint, date);"),
        *(
            migrations.RunSQL(secure(table, write), unsecure(table))
            for table, write in WRITE.items()
        ),
    ]
