from django.db import migrations

# A check of one row cannot see the others. Whoever wants to switch off a head coach waits for
# whoever is doing so, and sees afterwards what was done.
GUARD = """
CREATE FUNCTION a_head_coach_stays_on() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_advisory_xact_lock(hashtext('a_head_coach_stays_on'));
    IF NOT EXISTS (
        SELECT FROM athletes_user WHERE role = 'head_coach' AND is_active AND id <> OLD.id
    ) THEN
        RAISE EXCEPTION 'the last head coach stays on' USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER a_head_coach_stays_on BEFORE UPDATE ON athletes_user FOR EACH ROW
    WHEN (OLD.role = 'head_coach' AND OLD.is_active
        AND NOT (NEW.role = 'head_coach' AND NEW.is_active))
    EXECUTE FUNCTION a_head_coach_stays_on();
"""


class Migration(migrations.Migration):
    dependencies = [("athletes", "0015_drop_readable_sessions")]

    operations = [
        migrations.RunSQL(
            GUARD,
            "DROP TRIGGER a_head_coach_stays_on ON athletes_user;"
            " DROP FUNCTION a_head_coach_stays_on()",
        )
    ]
