import uuid

import django.contrib.postgres.functions
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("program", "0003_override")]

    operations = [
        migrations.AddField(
            model_name="painreport",
            name="public_id",
            field=models.UUIDField(
                db_default=django.contrib.postgres.functions.RandomUUID(),
                default=uuid.uuid4,
                editable=False,
                help_text="made by the form or the phone it comes from: sent twice, it is one report",
                unique=True,
            ),
        ),
    ]
