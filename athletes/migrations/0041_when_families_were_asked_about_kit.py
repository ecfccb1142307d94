from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0040_row_security_of_consents_that_are_sent"),
    ]

    operations = [
        migrations.AddField(
            model_name="child",
            name="kit_asked_at",
            field=models.DateTimeField(
                blank=True, help_text="when its family was asked last what is at home", null=True
            ),
        ),
    ]
