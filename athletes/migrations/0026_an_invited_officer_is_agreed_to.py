from django.db import migrations

INVITED = """
CREATE TRIGGER an_officer_is_agreed_to
BEFORE UPDATE OF used_at ON athletes_invitation
FOR EACH ROW WHEN (
    OLD.used_at IS NULL AND NEW.used_at IS NOT NULL AND NEW.as_officer AND NEW.agreed_at IS NULL
)
EXECUTE FUNCTION athletes_a_coach_is_agreed_to();
"""


class Migration(migrations.Migration):
    dependencies = [("athletes", "0025_invited_as_welfare_officer")]

    operations = [
        migrations.RunSQL(INVITED, "DROP TRIGGER an_officer_is_agreed_to ON athletes_invitation;")
    ]
