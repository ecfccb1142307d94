from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0041_when_families_were_asked_about_kit"),
    ]

    operations = [
        migrations.AddField(
            model_name="placement",
            name="is_seen",
            field=models.BooleanField(
                db_default=True,
                default=True,
                help_text="by the coach who placed it; where a group starts nobody has seen anybody yet, and for landing and for anything harder that is no placement",
            ),
        ),
    ]
