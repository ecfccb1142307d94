"""The table behind Django's database cache, which counts sign-in attempts for every web process."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("program", "0001_initial")]

    operations = [
        migrations.RunSQL(
            """
            CREATE TABLE program_cache (
                cache_key varchar(255) PRIMARY KEY,
                value text NOT NULL,
                expires timestamptz NOT NULL
            );
            CREATE INDEX program_cache_expires ON program_cache (expires);
            """,
            "DROP TABLE program_cache;",
        )
    ]
