"""What a family agrees to is said by whoever may see the child; whose answer it may be, a trigger
says (`0038_consents_are_kept`). See `0022_row_security_of_what_is_sent`."""

import importlib

from django.db import migrations

SENT = importlib.import_module("athletes.migrations.0022_row_security_of_what_is_sent")
TABLE = "athletes_consent"


class Migration(migrations.Migration):
    dependencies = [("athletes", "0039_drop_growth_consent")]

    operations = [
        migrations.RunSQL(SENT.secure(TABLE, SENT.OF_CHILDREN), SENT.unsecure(TABLE)),
    ]
