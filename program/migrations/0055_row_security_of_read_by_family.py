"""Who has read what is read and written by that person alone, of a child that is theirs to read. The
page that shows it writes it, so it needs no right to write (`athletes/0019_health_views_are_kept`).
"""

import importlib

from django.db import migrations

READ = importlib.import_module("athletes.migrations.0017_row_security")
TABLE = "program_readbyfamily"
MINE = f"person_id = (SELECT acting_person()) AND {READ.OF_CHILDREN}"
SECURE = f"""
CREATE POLICY ones_own_to_add ON {TABLE} FOR INSERT WITH CHECK ({MINE});
CREATE POLICY ones_own_to_change ON {TABLE} FOR UPDATE USING ({MINE});
"""
UNSECURE = f"""
DROP POLICY ones_own_to_change ON {TABLE};
DROP POLICY ones_own_to_add ON {TABLE};
"""


class Migration(migrations.Migration):
    dependencies = [("program", "0053_row_security_of_session_news")]

    operations = [
        migrations.RunSQL(READ.secure(TABLE, MINE), READ.unsecure(TABLE)),
        migrations.RunSQL(SECURE, UNSECURE),
    ]
