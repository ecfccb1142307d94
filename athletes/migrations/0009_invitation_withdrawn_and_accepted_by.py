import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

# Until now nobody wrote down who came in, but an address comes in as itself.
WHO_CAME_IN = """
UPDATE athletes_invitation SET accepted_by_id = athletes_user.id
FROM athletes_user
WHERE used_at IS NOT NULL AND lower(athletes_user.email) = lower(athletes_invitation.email)
"""


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0008_access_rules"),
    ]

    operations = [
        migrations.AddField(
            model_name="invitation",
            name="accepted_by",
            field=models.ForeignKey(
                blank=True,
                help_text="who came in by it",
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="accepted_invitations",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="invitation",
            name="withdrawn_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.RunSQL(WHO_CAME_IN, migrations.RunSQL.noop),
    ]
