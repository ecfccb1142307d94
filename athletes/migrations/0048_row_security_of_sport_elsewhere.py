"""What a family says of a child's sport elsewhere is read and written by whoever may see the child;
see `0017_row_security` and `0022_row_security_of_what_is_sent`."""

import importlib

from django.db import migrations

READ = importlib.import_module("athletes.migrations.0017_row_security")
SENT = importlib.import_module("athletes.migrations.0022_row_security_of_what_is_sent")
TABLES = ("athletes_sportelsewhere", "athletes_differentweek")


class Migration(migrations.Migration):
    dependencies = [("athletes", "0047_sport_elsewhere")]

    operations = [
        operation
        for table in TABLES
        for operation in (
            migrations.RunSQL(READ.secure(table, READ.OF_CHILDREN), READ.unsecure(table)),
            migrations.RunSQL(SENT.secure(table, SENT.OF_CHILDREN), SENT.unsecure(table)),
        )
    ]
