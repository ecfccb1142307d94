"""Whoever is here already has said yes to mail about answers and reports, and to no other: for them
it begins with never, and the question about mail is put to them anew in its new words."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0045_the_name_of_the_club"),
    ]

    operations = [
        migrations.AddField(
            model_name="user",
            name="session_mail",
            field=models.CharField(
                choices=[
                    ("at_once", "At once"),
                    ("evening", "In the evening, if there are any"),
                    ("never", "Never"),
                ],
                default="never",
                help_text="of new sessions; none where no mail is wanted",
                max_length=7,
            ),
        ),
        migrations.AlterField(
            model_name="user",
            name="session_mail",
            field=models.CharField(
                choices=[
                    ("at_once", "At once"),
                    ("evening", "In the evening, if there are any"),
                    ("never", "Never"),
                ],
                default="evening",
                help_text="of new sessions; none where no mail is wanted",
                max_length=7,
            ),
        ),
        migrations.AddConstraint(
            model_name="user",
            constraint=models.CheckConstraint(
                condition=models.Q(("session_mail__in", ["at_once", "evening", "never"])),
                name="session_mail_is_known",
            ),
        ),
    ]
