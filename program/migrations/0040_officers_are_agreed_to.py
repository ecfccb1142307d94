from django.db import migrations

# Not constraints of the table: those who were named by one head coach, before two had to agree, are
# here. Whoever steps down themself asks nobody.
AGREED = """
CREATE FUNCTION an_officer_is_agreed_to() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE check_violation USING
        CONSTRAINT = 'an_officer_is_agreed_to', TABLE = 'program_welfareofficer',
        MESSAGE = 'a welfare officer begins and ends by two people, or by one and a day';
END $$;
CREATE TRIGGER an_officer_is_agreed_to_when_added BEFORE INSERT ON program_welfareofficer
    FOR EACH ROW WHEN (
        NEW.in_force_since IS NOT NULL AND NEW.named_by_id IS NOT NULL
        AND NEW.confirmed_by_id IS NULL
    )
    EXECUTE FUNCTION an_officer_is_agreed_to();
CREATE TRIGGER an_officer_is_agreed_to BEFORE UPDATE OF in_force_since ON program_welfareofficer
    FOR EACH ROW WHEN (
        OLD.in_force_since IS NULL AND NEW.in_force_since IS NOT NULL
        AND NEW.named_by_id IS NOT NULL AND NEW.confirmed_by_id IS NULL
    )
    EXECUTE FUNCTION an_officer_is_agreed_to();
CREATE TRIGGER an_officer_ends_by_two BEFORE UPDATE OF ended_at ON program_welfareofficer
    FOR EACH ROW WHEN (
        OLD.ended_at IS NULL AND NEW.ended_at IS NOT NULL AND NEW.in_force_since IS NOT NULL
        AND NEW.ending_asked_at IS NULL AND NEW.ended_by_id IS DISTINCT FROM NEW.person_id
    )
    EXECUTE FUNCTION an_officer_is_agreed_to();
"""
NOT_AGREED = """
DROP TRIGGER an_officer_ends_by_two ON program_welfareofficer;
DROP TRIGGER an_officer_is_agreed_to ON program_welfareofficer;
DROP TRIGGER an_officer_is_agreed_to_when_added ON program_welfareofficer;
DROP FUNCTION an_officer_is_agreed_to();
"""


class Migration(migrations.Migration):
    dependencies = [("program", "0038_row_security_of_what_is_sent")]

    operations = [migrations.RunSQL(AGREED, NOT_AGREED)]
