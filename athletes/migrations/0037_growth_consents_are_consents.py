"""That a guardian agreed to heights is carried over, with who and when. There was no text with a
number then; it says 0, and the family is asked again.
"""

from django.db import migrations

CARRY_OVER = """
INSERT INTO athletes_consent (child_id, purpose, given, version, answered_by_id, at)
SELECT child_id, 'measurements', true, 0, given_by_id, given_at
FROM athletes_growthconsent ORDER BY id;
"""
CARRY_BACK = """
INSERT INTO athletes_growthconsent (child_id, given_at, given_by_id)
SELECT DISTINCT ON (child_id) child_id, at, answered_by_id
FROM athletes_consent WHERE purpose = 'measurements' AND given ORDER BY child_id, id DESC;
DELETE FROM athletes_consent;
"""


class Migration(migrations.Migration):
    dependencies = [("athletes", "0036_consents")]

    operations = [migrations.RunSQL(CARRY_OVER, CARRY_BACK)]
