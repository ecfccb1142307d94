"""Nobody begins or logs a session that is called off. Whoever had begun before goes on with it."""

from django.db import migrations

REFUSED = """
CREATE FUNCTION a_session_called_off_is_not_begun() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (
        SELECT FROM program_session WHERE id = NEW.session_id AND called_off_at IS NOT NULL
    ) AND NOT EXISTS (
        SELECT FROM program_completion WHERE assigned_session_id = NEW.id
    ) THEN
        RAISE check_violation USING
            CONSTRAINT = 'a_session_called_off_is_not_begun', TABLE = 'program_assignedsession',
            MESSAGE = 'a session that is called off is not begun';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER a_session_called_off_is_not_begun
    BEFORE UPDATE OF started_at ON program_assignedsession
    FOR EACH ROW WHEN (OLD.started_at IS NULL AND NEW.started_at IS NOT NULL)
    EXECUTE FUNCTION a_session_called_off_is_not_begun();

CREATE FUNCTION a_session_called_off_is_not_logged() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (
        SELECT FROM program_assignedsession given
        JOIN program_session session ON session.id = given.session_id
        WHERE given.id = NEW.assigned_session_id
            AND given.started_at IS NULL AND session.called_off_at IS NOT NULL
    ) THEN
        RAISE check_violation USING
            CONSTRAINT = 'a_session_called_off_is_not_logged', TABLE = 'program_completion',
            MESSAGE = 'a session that is called off is not logged';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER a_session_called_off_is_not_logged BEFORE INSERT ON program_completion
    FOR EACH ROW EXECUTE FUNCTION a_session_called_off_is_not_logged();
"""
ALLOWED = """
DROP TRIGGER a_session_called_off_is_not_logged ON program_completion;
DROP FUNCTION a_session_called_off_is_not_logged();
DROP TRIGGER a_session_called_off_is_not_begun ON program_assignedsession;
DROP FUNCTION a_session_called_off_is_not_begun();
"""


class Migration(migrations.Migration):
    dependencies = [("program", "0044_row_security_of_standing_decisions")]

    operations = [migrations.RunSQL(REFUSED, ALLOWED)]
