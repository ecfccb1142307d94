"""What was recorded is let go when it is older than the program keeps it: by the owner's function,
which the nightly clearing calls. It takes no day from its caller, so that nobody who reaches it
lets go of more; and while a person acts, row security leaves it nothing.
"""

from django.db import migrations

LET_GO = """
CREATE FUNCTION records_are_kept_from() RETURNS timestamptz
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
    SELECT date_trunc('day', now())
        - make_interval(years => coalesce((SELECT max(records_years) FROM athletes_accessrules), 6))
$$;

CREATE FUNCTION let_go_of_records() RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
    DELETE FROM athletes_recordedchange WHERE at < records_are_kept_from();
    DELETE FROM athletes_healthview WHERE at < records_are_kept_from();
END $$;

CREATE OR REPLACE FUNCTION a_recorded_change_is_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' AND acting_sees_all()
        AND (
            OLD.at < records_are_kept_from()
            OR OLD.child_id IS NOT NULL
            AND NOT EXISTS (SELECT FROM athletes_child WHERE id = OLD.child_id)
            OR OLD.person_id IS NOT NULL
            AND NOT EXISTS (SELECT FROM athletes_user WHERE id = OLD.person_id)
        )
    THEN
        RETURN NULL;
    END IF;
    RAISE EXCEPTION 'What was recorded is never changed.';
END $$;

CREATE OR REPLACE FUNCTION a_look_is_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        -- Only the program sees whether a child is gone.
        IF acting_sees_all() AND (
            OLD.at < records_are_kept_from()
            OR NOT EXISTS (SELECT FROM athletes_child WHERE id = OLD.child_id)
        ) THEN
            RETURN NULL;
        END IF;
    ELSIF NEW.person_id IS NULL
        AND (NEW.id, NEW.child_id, NEW.kind, NEW.at) = (OLD.id, OLD.child_id, OLD.kind, OLD.at)
        AND NOT EXISTS (SELECT FROM athletes_user WHERE id = OLD.person_id)
    THEN
        RETURN NULL;
    END IF;
    RAISE EXCEPTION 'What was looked at is never changed.';
END $$;
"""
LET_GO_NO_MORE = """
CREATE OR REPLACE FUNCTION a_look_is_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        -- Only the program sees whether a child is gone.
        IF acting_sees_all() AND NOT EXISTS (SELECT FROM athletes_child WHERE id = OLD.child_id) THEN
            RETURN NULL;
        END IF;
    ELSIF NEW.person_id IS NULL
        AND (NEW.id, NEW.child_id, NEW.kind, NEW.at) = (OLD.id, OLD.child_id, OLD.kind, OLD.at)
        AND NOT EXISTS (SELECT FROM athletes_user WHERE id = OLD.person_id)
    THEN
        RETURN NULL;
    END IF;
    RAISE EXCEPTION 'What was looked at is never changed.';
END $$;

CREATE OR REPLACE FUNCTION a_recorded_change_is_kept() RETURNS trigger LANGUAGE plpgsql AS $$
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

DROP FUNCTION let_go_of_records();
DROP FUNCTION records_are_kept_from();
"""


class Migration(migrations.Migration):
    dependencies = [("athletes", "0034_how_long_records_are_kept")]

    operations = [migrations.RunSQL(LET_GO, LET_GO_NO_MORE)]
