"""What a family has read was not kept before: an answer or a report stood on its first page for a
week. What is older does not come up again, for those who are the family today."""

from django.db import migrations

OF = """
INSERT INTO program_readbyfamily (person_id, child_id, {link}_id, as_of)
SELECT family.person, it.child_id, it.id, {as_of}
FROM {table} it JOIN (
    SELECT child_id, guardian_id AS person FROM athletes_guardianship
    UNION SELECT id, user_id FROM athletes_child WHERE user_id IS NOT NULL
) family USING (child_id)
WHERE {as_of} < now() - interval '7 days'
"""
ANSWERS = OF.format(link="question", table="program_question", as_of="it.answered_at")
REPORTS = OF.format(
    link="report", table="program_report", as_of="coalesce(it.corrected_at, it.sent_at)"
)


class Migration(migrations.Migration):
    dependencies = [("program", "0055_row_security_of_read_by_family")]

    operations = [migrations.RunSQL(each, migrations.RunSQL.noop) for each in (ANSWERS, REPORTS)]
