from django.db import migrations, models

CAUSES = (
    *("kit", "restriction", "placement", "growth", "age", "cohort"),
    *("venue", "exercise", "pathway", "limit"),
)


class Migration(migrations.Migration):
    dependencies = [("program", "0024_closed_sessions")]

    operations = [
        migrations.AlterField(
            model_name="refit",
            name="what",
            field=models.CharField(choices=[(each, each) for each in CAUSES], max_length=11),
        )
    ]
