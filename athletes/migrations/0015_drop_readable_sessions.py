from django.db import migrations


class Migration(migrations.Migration):
    """Sessions that held sign-in codes in clear. Whoever is signed in signs in once more."""

    dependencies = [("athletes", "0014_sign_ins")]

    operations = [
        migrations.RunSQL("DROP TABLE IF EXISTS django_session", migrations.RunSQL.noop),
    ]
