import importlib

from django.db import migrations

WAS = importlib.import_module("athletes.migrations.0021_record_changes")
TABLE = "athletes_placement"
BEFORE = WAS.RECORDED[TABLE]


class Migration(migrations.Migration):
    dependencies = [("athletes", "0043_where_groups_begin")]

    operations = [
        migrations.RunSQL(WAS.record_no_more(TABLE), WAS.record(TABLE, BEFORE)),
        migrations.RunSQL(WAS.record(TABLE, (*BEFORE, "is_seen")), WAS.record_no_more(TABLE)),
    ]
