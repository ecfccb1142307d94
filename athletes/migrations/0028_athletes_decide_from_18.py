"""`act_as` says what `Child.visible_to`, `Child.decided_by` and `GrowthMeasurement.visible_to` say:
an athlete of 18 with an own sign-in has taken over, and guardians read on only where it lets them.

Two more sets: the children for whom somebody decides as family, and those whose heights they read.
"""

import importlib

from django.db import migrations

WAS = importlib.import_module("athletes.migrations.0017_row_security")
SETS = ("decided", "measured")

ACT_AS = """
CREATE OR REPLACE FUNCTION act_as(person bigint, today date) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    is_known boolean;
    is_coach boolean;
    is_head_coach boolean;
    history integer;
    born_by date := (today - interval '18 years')::date;
BEGIN
    PERFORM set_config('fledge.sees_all', 'on', true);  -- to find out
    SELECT true, role IN ('coach', 'head_coach'), role = 'head_coach'
        INTO is_known, is_coach, is_head_coach
        FROM athletes_user WHERE id = person AND is_active;
    SELECT coalesce(max(history_days), 90) INTO history FROM athletes_accessrules WHERE id = 1;
    PERFORM set_config('fledge.acting', person::text, true);
    PERFORM set_config('fledge.cohorts', ARRAY(
        SELECT cohort_id FROM athletes_cohort_coaches WHERE user_id = person AND is_coach
    )::text, true);
    PERFORM set_config('fledge.children', ARRAY(
        SELECT g.child_id FROM athletes_guardianship g JOIN athletes_child c ON c.id = g.child_id
            WHERE g.guardian_id = person AND is_known
                AND (c.user_id IS NULL OR c.birth_date > born_by OR g.reads_on)
        UNION SELECT id FROM athletes_child WHERE user_id = person AND is_known
        UNION SELECT child_id FROM athletes_enrolment
            WHERE cohort_id = ANY (acting_cohorts()) AND ("end" IS NULL OR "end" >= today)
    )::text, true);
    PERFORM set_config('fledge.decided', ARRAY(
        SELECT g.child_id FROM athletes_guardianship g JOIN athletes_child c ON c.id = g.child_id
            WHERE g.guardian_id = person AND is_known
                AND (c.user_id IS NULL OR c.birth_date > born_by)
        UNION SELECT id FROM athletes_child
            WHERE user_id = person AND is_known AND birth_date <= born_by
    )::text, true);
    PERFORM set_config('fledge.measured',
        CASE WHEN is_coach THEN acting_children() ELSE acting_decided() END::text, true
    );
    PERFORM set_config('fledge.remembered', ARRAY(
        SELECT id FROM athletes_enrolment
            WHERE cohort_id = ANY (acting_cohorts())
                AND ("end" IS NULL OR "end" + history >= today)
    )::text, true);
    PERFORM set_config('fledge.remembered_children', ARRAY(
        SELECT child_id FROM athletes_enrolment WHERE id = ANY (acting_remembered())
        UNION SELECT unnest(acting_children())
    )::text, true);
    PERFORM set_config(
        'fledge.sees_all', CASE WHEN is_head_coach THEN 'on' ELSE 'off' END, true
    );
END $$;
"""
POLICIES = {
    "athletes_growthmeasurement": (
        "child_id = ANY ((SELECT acting_measured())::bigint[])",
        WAS.READ["athletes_growthmeasurement"],
    ),
    "athletes_healthview": (
        "child_id = ANY ((SELECT acting_decided())::bigint[])",
        importlib.import_module("athletes.migrations.0019_health_views_are_kept").GUARDIANS,
    ),
}


def read(table, rows):
    return f"ALTER POLICY ones_own_to_read ON {table} USING ({rows});"


class Migration(migrations.Migration):
    dependencies = [("athletes", "0027_turning_18")]

    operations = [
        *(
            migrations.RunSQL(WAS.SET_OF.format(name=name), f"DROP FUNCTION acting_{name}();")
            for name in SETS
        ),
        migrations.RunSQL(
            ACT_AS, WAS.ACT_AS.replace("CREATE FUNCTION", "CREATE OR REPLACE FUNCTION")
        ),
        *(
            migrations.RunSQL(read(table, now), read(table, before))
            for table, (now, before) in POLICIES.items()
        ),
    ]
