from django.db import migrations

# Whoever is 18 already was told of nothing: their guardians read on until the athlete, who is told
# in the next night, says otherwise.
READ_ON = """
UPDATE athletes_guardianship SET reads_on = true FROM athletes_child c
WHERE c.id = child_id AND c.user_id IS NOT NULL
    AND c.birth_date <= (current_date - interval '18 years')::date;
"""


class Migration(migrations.Migration):
    dependencies = [("athletes", "0028_athletes_decide_from_18")]

    operations = [migrations.RunSQL(READ_ON, migrations.RunSQL.noop)]
