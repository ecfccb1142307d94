from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0044_record_whether_a_placement_is_seen"),
    ]

    operations = [
        migrations.AddField(
            model_name="accessrules",
            name="club_name",
            field=models.CharField(
                blank=True,
                db_default="",
                default="",
                help_text="as families know it; invitations name it",
                max_length=60,
                verbose_name="The name of your club or program",
            ),
        ),
    ]
