"""Whoever an account belongs to reads what was recorded of it; what concerns a child stays with
head coaches."""

from django.db import migrations

OWN = """
CREATE POLICY ones_own_to_read ON athletes_recordedchange FOR SELECT
    USING (
        person_id = (SELECT acting_person())
        AND (SELECT is_active FROM athletes_user WHERE id = acting_person())
    );
"""


class Migration(migrations.Migration):
    dependencies = [("athletes", "0032_more_pages_of_health_are_looked_at")]

    operations = [
        migrations.RunSQL(OWN, "DROP POLICY ones_own_to_read ON athletes_recordedchange;"),
    ]
