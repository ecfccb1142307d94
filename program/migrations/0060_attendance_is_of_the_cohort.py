"""The hall's log speaks of whoever is in the session's cohort that day, once the session is out."""

from django.db import migrations

HELD = """
CREATE FUNCTION attendance_is_of_the_cohort() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (
        SELECT FROM program_session session
        JOIN program_block block ON block.id = session.block_id
        JOIN athletes_enrolment enrolled ON enrolled.cohort_id = block.cohort_id
        WHERE session.id = NEW.session_id AND session.published_at IS NOT NULL
            AND enrolled.child_id = NEW.child_id AND enrolled.start <= session.date
            AND (enrolled."end" IS NULL OR enrolled."end" >= session.date)
    ) THEN
        RAISE check_violation USING
            CONSTRAINT = 'attendance_is_of_the_cohort', TABLE = 'program_attendance',
            MESSAGE = 'who was in the hall is in the cohort of a published session that day';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER attendance_is_of_the_cohort
    BEFORE INSERT OR UPDATE OF session_id, child_id ON program_attendance
    FOR EACH ROW EXECUTE FUNCTION attendance_is_of_the_cohort();
"""
FREE = """
DROP TRIGGER attendance_is_of_the_cohort ON program_attendance;
DROP FUNCTION attendance_is_of_the_cohort();
"""


class Migration(migrations.Migration):
    dependencies = [("program", "0059_row_security_of_attendance")]

    operations = [migrations.RunSQL(HELD, FREE)]
