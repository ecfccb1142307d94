from django.db import migrations

# The last that was agreed to of a person holds: what was agreed to once is no leave to do it again.
ROLES = """
CREATE FUNCTION a_role_changes_by_two_people() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (
        SELECT FROM (
            SELECT was, role FROM athletes_rolechange
            WHERE person_id = NEW.id AND agreed_at IS NOT NULL
            ORDER BY agreed_at DESC, id DESC LIMIT 1
        ) AS agreed
        WHERE agreed.was = OLD.role AND agreed.role = NEW.role
    ) THEN
        RAISE check_violation USING
            CONSTRAINT = 'a_role_changes_by_two_people', TABLE = 'athletes_user',
            MESSAGE = 'a role changes by two people, or by one and a day';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER a_role_changes_by_two_people BEFORE UPDATE OF role ON athletes_user
    FOR EACH ROW WHEN (OLD.role IS DISTINCT FROM NEW.role)
    EXECUTE FUNCTION a_role_changes_by_two_people();
"""
NO_ROLES = """
DROP TRIGGER a_role_changes_by_two_people ON athletes_user;
DROP FUNCTION a_role_changes_by_two_people();
"""

# Not a constraint of the table: those who came in before nobody was asked are here.
INVITED = """
CREATE FUNCTION athletes_a_coach_is_agreed_to() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE check_violation USING
        CONSTRAINT = 'a_coach_is_agreed_to', TABLE = 'athletes_invitation',
        MESSAGE = 'somebody agrees to an invitation to coach before it is used';
END $$;
CREATE TRIGGER a_coach_is_agreed_to
BEFORE UPDATE OF used_at ON athletes_invitation
FOR EACH ROW WHEN (
    OLD.used_at IS NULL AND NEW.used_at IS NOT NULL
    AND NEW.role IN ('coach', 'head_coach') AND NEW.agreed_at IS NULL
)
EXECUTE FUNCTION athletes_a_coach_is_agreed_to();
"""
NOT_INVITED = """
DROP TRIGGER a_coach_is_agreed_to ON athletes_invitation;
DROP FUNCTION athletes_a_coach_is_agreed_to();
"""


class Migration(migrations.Migration):
    dependencies = [("athletes", "0023_role_changes")]

    operations = [
        migrations.RunSQL(ROLES, NO_ROLES),
        migrations.RunSQL(INVITED, NOT_INVITED),
    ]
