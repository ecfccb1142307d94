"""Whom to mail about a session is read and written by whoever may see the child; see
`0034_row_security` and `0038_row_security_of_what_is_sent`."""

import importlib

from django.db import migrations

READ = importlib.import_module("athletes.migrations.0017_row_security")
SENT = importlib.import_module("athletes.migrations.0022_row_security_of_what_is_sent")
TABLE = "program_sessionnews"


class Migration(migrations.Migration):
    dependencies = [("program", "0050_called_off_is_not_begun")]

    operations = [
        migrations.RunSQL(READ.secure(TABLE, READ.OF_CHILDREN), READ.unsecure(TABLE)),
        migrations.RunSQL(SENT.secure(TABLE, SENT.OF_CHILDREN), SENT.unsecure(TABLE)),
    ]
