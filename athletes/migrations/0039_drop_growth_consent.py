from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("athletes", "0038_consents_are_kept")]

    operations = [migrations.DeleteModel(name="GrowthConsent")]
