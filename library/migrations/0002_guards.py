"""What no form may be trusted to hold: revisions never change, and pathways never close a cycle."""

from django.db import migrations

REVISIONS_NEVER_CHANGE = """
CREATE FUNCTION library_revision_is_immutable() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'An exercise revision is never changed; write a new one.'
        USING ERRCODE = 'restrict_violation', CONSTRAINT = 'revision_is_immutable';
END $$;

CREATE TRIGGER revision_is_immutable
BEFORE UPDATE ON library_exerciserevision
FOR EACH ROW EXECUTE FUNCTION library_revision_is_immutable();
"""

# The advisory lock makes two edits of one pathway wait for each other; under READ COMMITTED the
# query after it then sees what the other one committed. The pair of numbers keeps the lock apart
# from any other advisory lock: the first is this table's own id.
PATHWAYS_NEVER_CLOSE_A_CYCLE = """
CREATE FUNCTION library_step_closes_no_cycle() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_advisory_xact_lock('library_step'::regclass::oid::int, NEW.pathway_id::int);
    IF EXISTS (
        WITH RECURSIVE above(exercise) AS (
            SELECT NEW.harder_id
            UNION
            SELECT step.harder_id FROM library_step step JOIN above ON step.easier_id = above.exercise
            WHERE step.pathway_id = NEW.pathway_id AND step.id IS DISTINCT FROM NEW.id
        )
        SELECT 1 FROM above WHERE exercise = NEW.easier_id
    ) THEN
        RAISE EXCEPTION 'This step would lead back to where it starts.'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'step_closes_no_cycle';
    END IF;
    RETURN NEW;
END $$;

CREATE TRIGGER step_closes_no_cycle
BEFORE INSERT OR UPDATE ON library_step
FOR EACH ROW EXECUTE FUNCTION library_step_closes_no_cycle();
"""


class Migration(migrations.Migration):
    dependencies = [("library", "0001_initial")]

    operations = [
        migrations.RunSQL(
            REVISIONS_NEVER_CHANGE,
            "DROP TRIGGER revision_is_immutable ON library_exerciserevision;"
            "DROP FUNCTION library_revision_is_immutable();",
        ),
        migrations.RunSQL(
            PATHWAYS_NEVER_CLOSE_A_CYCLE,
            "DROP TRIGGER step_closes_no_cycle ON library_step;"
            "DROP FUNCTION library_step_closes_no_cycle();",
        ),
    ]
