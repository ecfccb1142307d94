import importlib

from django.db import migrations

WAS = importlib.import_module("athletes.migrations.0021_record_changes")
TABLE = "athletes_guardianship"
BEFORE = WAS.RECORDED[TABLE]


class Migration(migrations.Migration):
    dependencies = [("athletes", "0029_nobody_of_18_takes_over_unannounced")]

    operations = [
        migrations.RunSQL(WAS.record_no_more(TABLE), WAS.record(TABLE, BEFORE)),
        migrations.RunSQL(WAS.record(TABLE, (*BEFORE, "reads_on")), WAS.record_no_more(TABLE)),
    ]
