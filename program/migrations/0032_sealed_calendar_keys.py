import hashlib

from django.db import migrations, models

from library.shared.sealing import seal


def seal_keys(apps, schema_editor):
    feeds = apps.get_model("program", "CalendarFeed").objects.using(schema_editor.connection.alias)
    for feed in feeds.all():
        feed.key_digest = hashlib.sha256(str(feed.key).encode()).hexdigest()
        feed.sealed_key = seal(feed.key.bytes, f"program.calendar_feed:{feed.guardian_id}")
        feed.save(update_fields=["key_digest", "sealed_key"])


class Migration(migrations.Migration):
    """Calendars go on reading their addresses."""

    dependencies = [("program", "0031_copies_and_erasing")]

    operations = [
        migrations.AddField(
            "calendarfeed", "key_digest", models.CharField(max_length=64, null=True)
        ),
        migrations.AddField("calendarfeed", "sealed_key", models.BinaryField(null=True)),
        migrations.RunPython(seal_keys, elidable=True),
        # In one transaction, rows that were just changed would keep the table from being altered.
        migrations.RunSQL("SET CONSTRAINTS ALL IMMEDIATE", migrations.RunSQL.noop),
        migrations.AlterField(
            "calendarfeed", "key_digest", models.CharField(max_length=64, unique=True)
        ),
        migrations.AlterField("calendarfeed", "sealed_key", models.BinaryField()),
        migrations.RemoveField("calendarfeed", "key"),
    ]
