"""Who changed what about people and children is recorded by the database itself.

One function of our own for every table: packages that do this keep a second table for each, with
every column of the first once more, and so once more of a child's data. Triggers fire once for a
statement, not for each row, so that publishing for a thousand children writes a thousand rows here
in one go.

The functions act as the owner, so that the role that serves pages needs no right to write here
(`program/config/grants.py` takes it away).
"""

from django.db import migrations

RECORD = """
CREATE FUNCTION acting_writer() RETURNS bigint LANGUAGE sql STABLE PARALLEL SAFE AS $$
    SELECT coalesce(nullif(current_setting('fledge.by', true), '')::bigint, acting_person())
$$;

CREATE FUNCTION only_columns(of_row jsonb, names text[]) RETURNS jsonb
    LANGUAGE sql IMMUTABLE PARALLEL SAFE AS
$$ SELECT jsonb_object_agg(name, of_row -> name) FROM unnest(names) AS name $$;

CREATE FUNCTION record_changes() RETURNS trigger
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
    names text[] := TG_ARGV[0:];
    is_person boolean := TG_TABLE_NAME = 'athletes_user';
    writer bigint := acting_writer();
    request text := coalesce(current_setting('fledge.request', true), '');
BEGIN
    IF TG_OP = 'INSERT' THEN
        INSERT INTO athletes_recordedchange
            ("table", "row", what, child_id, person_id, by_id, request, at, before, after)
        SELECT TG_TABLE_NAME, (a ->> 'id')::bigint, 'added', (a ->> 'child_id')::bigint,
            CASE WHEN is_person THEN (a ->> 'id')::bigint END, writer, request, now(),
            NULL, only_columns(a, names)
        FROM (SELECT to_jsonb(new_rows) AS a FROM new_rows) AS added;
    ELSIF TG_OP = 'DELETE' THEN
        INSERT INTO athletes_recordedchange
            ("table", "row", what, child_id, person_id, by_id, request, at, before, after)
        SELECT TG_TABLE_NAME, (b ->> 'id')::bigint, 'removed', (b ->> 'child_id')::bigint,
            NULL, writer, request, now(), only_columns(b, names), NULL
        FROM (SELECT to_jsonb(old_rows) AS b FROM old_rows) AS removed
        -- That everything goes with its child is what erasing says.
        WHERE EXISTS (SELECT FROM athletes_child WHERE id = (b ->> 'child_id')::bigint);
    ELSE
        INSERT INTO athletes_recordedchange
            ("table", "row", what, child_id, person_id, by_id, request, at, before, after)
        SELECT TG_TABLE_NAME, (a ->> 'id')::bigint, 'changed', (a ->> 'child_id')::bigint,
            CASE WHEN is_person THEN (a ->> 'id')::bigint END, writer, request, now(),
            only_columns(b, differ), only_columns(a, differ)
        FROM (
            SELECT to_jsonb(old_rows) AS b, to_jsonb(new_rows) AS a
            FROM old_rows JOIN new_rows USING (id)
        ) AS changed, LATERAL (
            SELECT array_agg(name) AS differ FROM unnest(names) AS name
            WHERE a -> name IS DISTINCT FROM b -> name
        ) AS compared
        WHERE differ IS NOT NULL;
    END IF;
    RETURN NULL;
END $$;
"""
UNRECORD = """
DROP FUNCTION record_changes();
DROP FUNCTION only_columns(jsonb, text[]);
DROP FUNCTION acting_writer();
"""

# What goes with a child or an account is erased when that is gone, and nothing else ever is: asked
# at the end of the transaction.
KEEP = """
CREATE FUNCTION a_recorded_change_is_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' AND acting_sees_all()
        AND (
            OLD.child_id IS NOT NULL
            AND NOT EXISTS (SELECT FROM athletes_child WHERE id = OLD.child_id)
            OR OLD.person_id IS NOT NULL
            AND NOT EXISTS (SELECT FROM athletes_user WHERE id = OLD.person_id)
        )
    THEN
        RETURN NULL;
    END IF;
    RAISE EXCEPTION 'What was recorded is never changed.';
END $$;
CREATE CONSTRAINT TRIGGER a_recorded_change_is_kept
    AFTER UPDATE OR DELETE ON athletes_recordedchange
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION a_recorded_change_is_kept();

CREATE FUNCTION forget_recorded_changes() RETURNS trigger
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
    IF TG_TABLE_NAME = 'athletes_child' THEN
        DELETE FROM athletes_recordedchange WHERE child_id = OLD.id;
    ELSE
        DELETE FROM athletes_recordedchange WHERE person_id = OLD.id;
    END IF;
    RETURN NULL;
END $$;
CREATE TRIGGER forget_recorded_changes AFTER DELETE ON athletes_child
    FOR EACH ROW EXECUTE FUNCTION forget_recorded_changes();
CREATE TRIGGER forget_recorded_changes AFTER DELETE ON athletes_user
    FOR EACH ROW EXECUTE FUNCTION forget_recorded_changes();
"""
KEEP_NO_MORE = """
DROP TRIGGER forget_recorded_changes ON athletes_user;
DROP TRIGGER forget_recorded_changes ON athletes_child;
DROP FUNCTION forget_recorded_changes();
DROP TRIGGER a_recorded_change_is_kept ON athletes_recordedchange;
DROP FUNCTION a_recorded_change_is_kept();
"""

# Head coaches see all; to everybody else there is nothing here.
SECURE = """
ALTER TABLE athletes_recordedchange ENABLE ROW LEVEL SECURITY;
ALTER TABLE athletes_recordedchange FORCE ROW LEVEL SECURITY;
CREATE POLICY all_of_it_for_the_program ON athletes_recordedchange
    USING ((SELECT acting_sees_all()));
"""
UNSECURE = """
DROP POLICY all_of_it_for_the_program ON athletes_recordedchange;
ALTER TABLE athletes_recordedchange NO FORCE ROW LEVEL SECURITY;
ALTER TABLE athletes_recordedchange DISABLE ROW LEVEL SECURITY;
"""

# The columns whose changes are recorded.
RECORDED = {
    "athletes_user": ("name", "email", "role", "is_active"),
    "athletes_guardianship": ("guardian_id",),
    "athletes_enrolment": ("cohort_id", "start", "end"),
    "athletes_restriction": ("region", "side", "kind", "start", "until", "note", "lifted_on"),
    "athletes_placement": ("pathway_id", "exercise_id", "placed_at", "ended_at", "why"),
    "athletes_growthconsent": ("given_at", "given_by_id"),
}
TIMES = {
    "INSERT": "REFERENCING NEW TABLE AS new_rows",
    "UPDATE": "REFERENCING OLD TABLE AS old_rows NEW TABLE AS new_rows",
    "DELETE": "REFERENCING OLD TABLE AS old_rows",
}


def times_of(table):
    """An account that goes takes what is recorded of it along."""
    return [when for when in TIMES if (table, when) != ("athletes_user", "DELETE")]


def record(table, columns):
    names = ", ".join(f"'{column}'" for column in columns)
    return "".join(
        f"CREATE TRIGGER record_{when.lower()} AFTER {when} ON {table} {TIMES[when]}"
        f" FOR EACH STATEMENT EXECUTE FUNCTION record_changes({names});"
        for when in times_of(table)
    )


def record_no_more(table):
    return "".join(f"DROP TRIGGER record_{when.lower()} ON {table};" for when in times_of(table))


class Migration(migrations.Migration):
    dependencies = [("athletes", "0020_recorded_changes")]

    operations = [
        migrations.RunSQL(RECORD, UNRECORD),
        migrations.RunSQL(KEEP, KEEP_NO_MORE),
        migrations.RunSQL(SECURE, UNSECURE),
        *(
            migrations.RunSQL(record(table, columns), record_no_more(table))
            for table, columns in RECORDED.items()
        ),
    ]
