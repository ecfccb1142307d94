"""What was looked at is written by the page that showed it, and changed by nobody.

A page runs as its reader, who may write there one thing: that the reader, and no other, looked at
a child that the reader may read. The wider right of the program (`acting_for_the_program`) would
have let any slip of such a page write in another's name.

Rows go with their child alone, and lose their person only when the account goes. Whether those are
gone is asked at the end of the transaction, since Django deletes what points at a row before it.
"""

from django.db import migrations

GUARDIANS = """
child_id = ANY ((SELECT acting_children())::bigint[]) AND EXISTS (
    SELECT FROM athletes_guardianship of
    WHERE of.child_id = athletes_healthview.child_id AND of.guardian_id = acting_person()
)
"""
OWN_LOOK = """
person_id = (SELECT acting_person())
AND child_id = ANY ((SELECT acting_remembered_children())::bigint[])
"""
SECURE = f"""
ALTER TABLE athletes_healthview ENABLE ROW LEVEL SECURITY;
ALTER TABLE athletes_healthview FORCE ROW LEVEL SECURITY;
CREATE POLICY all_of_it_for_the_program ON athletes_healthview
    USING ((SELECT acting_sees_all()));
CREATE POLICY ones_own_to_read ON athletes_healthview FOR SELECT USING ({GUARDIANS});
CREATE POLICY ones_own_look_to_write ON athletes_healthview FOR INSERT WITH CHECK ({OWN_LOOK});
"""
UNSECURE = """
DROP POLICY ones_own_look_to_write ON athletes_healthview;
DROP POLICY ones_own_to_read ON athletes_healthview;
DROP POLICY all_of_it_for_the_program ON athletes_healthview;
ALTER TABLE athletes_healthview NO FORCE ROW LEVEL SECURITY;
ALTER TABLE athletes_healthview DISABLE ROW LEVEL SECURITY;
"""
KEPT = """
CREATE FUNCTION a_look_is_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        -- Only the program sees whether a child is gone.
        IF acting_sees_all() AND NOT EXISTS (SELECT FROM athletes_child WHERE id = OLD.child_id) THEN
            RETURN NULL;
        END IF;
    ELSIF NEW.person_id IS NULL
        AND (NEW.id, NEW.child_id, NEW.kind, NEW.at) = (OLD.id, OLD.child_id, OLD.kind, OLD.at)
        AND NOT EXISTS (SELECT FROM athletes_user WHERE id = OLD.person_id)
    THEN
        RETURN NULL;
    END IF;
    RAISE EXCEPTION 'What was looked at is never changed.';
END $$;
CREATE CONSTRAINT TRIGGER a_look_is_kept AFTER UPDATE OR DELETE ON athletes_healthview
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION a_look_is_kept();
"""


class Migration(migrations.Migration):
    dependencies = [("athletes", "0018_health_views")]

    operations = [
        migrations.RunSQL(SECURE, UNSECURE),
        migrations.RunSQL(
            KEPT,
            "DROP TRIGGER a_look_is_kept ON athletes_healthview; DROP FUNCTION a_look_is_kept();",
        ),
    ]
