"""What is sent is held to whoever sends it, as what is read; see
`athletes/0022_row_security_of_what_is_sent`."""

import importlib

from django.db import migrations

SENT = importlib.import_module("athletes.migrations.0022_row_security_of_what_is_sent")

OF_CHILDREN = "child_id = ANY ((SELECT acting_children())::bigint[])"
REMEMBERED = "child_id = ANY ((SELECT acting_remembered_children())::bigint[])"
THEIRS = "row_child = ANY ((SELECT acting_children())::bigint[])"
THEIRS_REMEMBERED = "row_child = ANY ((SELECT acting_remembered_children())::bigint[])"
IN_OWN_COHORT = "row_cohort = ANY ((SELECT acting_cohorts())::bigint[])"
MINE = "(SELECT acting_person())"
ACTIVE = f"EXISTS (SELECT FROM athletes_user u WHERE u.id = {MINE} AND u.is_active)"
OFFICER = "(SELECT acting_is_officer())"

# A group's log is taken from its own coaches for a week after a child has left.
OF_OWN_COHORT = f"{THEIRS} OR {THEIRS_REMEMBERED} AND {IN_OWN_COHORT}"
OF_CHILD_OR_OWN_COHORT = f"{OF_CHILDREN} OR {REMEMBERED} AND {IN_OWN_COHORT}"
OF_BLOCK = """EXISTS (
    SELECT FROM program_block b
    WHERE b.id = block_id AND b.cohort_id = ANY ((SELECT acting_cohorts())::bigint[])
)"""

WRITE = {
    "program_assignedsession": OF_CHILD_OR_OWN_COHORT,
    "program_assignedslot": OF_OWN_COHORT,
    "program_completion": OF_OWN_COHORT,
    "program_slotresult": OF_OWN_COHORT,
    "program_painreport": OF_CHILD_OR_OWN_COHORT,
    "program_override": OF_CHILDREN,
    "program_submission": OF_CHILDREN,
    "program_takenoutsession": OF_CHILDREN,
    "program_question": OF_CHILDREN,
    "program_report": f"{OF_CHILDREN} OR {REMEMBERED} AND {OF_BLOCK}",
    "program_earlierreport": ("EXISTS (SELECT FROM program_report of WHERE of.id = report_id)"),
    "program_resolution": OF_CHILDREN,
    "program_refit": OF_CHILDREN,
    "program_waybackstep": OF_CHILDREN,
    "program_doseraise": "EXISTS (SELECT FROM athletes_placement of WHERE of.id = placement_id)",
    "program_childcopy": f"{OF_CHILDREN} AND asked_by_id = {MINE}",
    "program_erasure": OF_CHILDREN,
}
AS_OFFICER = f"""
    {OFFICER} AND kept_from_id IS DISTINCT FROM {MINE} AND by_id IS DISTINCT FROM {MINE}
"""
ONES_OWN = "EXISTS (SELECT FROM program_concern of WHERE of.id = concern_id)"
CONCERNS = f"""
CREATE POLICY whoever_is_worried_reports ON program_concern FOR INSERT
    WITH CHECK ({ACTIVE} AND by_id = {MINE});
CREATE POLICY officers_see_to_it ON program_concern FOR UPDATE USING ({AS_OFFICER});
CREATE POLICY officers_and_whoever_reported_add ON program_concernentry FOR INSERT
    WITH CHECK (by_id IS NOT DISTINCT FROM {MINE} AND {ONES_OWN});
"""
CONCERNS_AS_BEFORE = """
DROP POLICY officers_and_whoever_reported_add ON program_concernentry;
DROP POLICY officers_see_to_it ON program_concern;
DROP POLICY whoever_is_worried_reports ON program_concern;
"""


class Migration(migrations.Migration):
    dependencies = [
        ("program", "0037_concerns_are_for_officers_alone"),
        ("athletes", "0022_row_security_of_what_is_sent"),
    ]

    operations = [
        *(
            migrations.RunSQL(SENT.secure(table, write), SENT.unsecure(table))
            for table, write in WRITE.items()
        ),
        migrations.RunSQL(CONCERNS, CONCERNS_AS_BEFORE),
    ]
