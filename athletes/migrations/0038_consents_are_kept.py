"""What a family agreed to is read by whoever may see the child, said by whoever answers for it,
changed by nobody, and recorded like any other change.

A row goes with its child alone, and loses its people only when their accounts go: asked at the end
of the transaction, since Django deletes what points at a row before it.
"""

from django.db import migrations

SECURE = """
ALTER TABLE athletes_consent ENABLE ROW LEVEL SECURITY;
ALTER TABLE athletes_consent FORCE ROW LEVEL SECURITY;
CREATE POLICY all_of_it_for_the_program ON athletes_consent USING ((SELECT acting_sees_all()));
CREATE POLICY ones_own_to_read ON athletes_consent FOR SELECT
    USING (child_id = ANY ((SELECT acting_children())::bigint[]));
"""
UNSECURE = """
DROP POLICY ones_own_to_read ON athletes_consent;
DROP POLICY all_of_it_for_the_program ON athletes_consent;
ALTER TABLE athletes_consent NO FORCE ROW LEVEL SECURITY;
ALTER TABLE athletes_consent DISABLE ROW LEVEL SECURITY;
"""

# Of the eighteenth birthday the application knows the time zone; here a day too early will do.
SAID = """
CREATE FUNCTION a_consent_is_ones_own() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (
        SELECT FROM athletes_guardianship
        WHERE child_id = NEW.child_id AND guardian_id = NEW.answered_by_id
    ) AND NOT EXISTS (
        SELECT FROM athletes_child
        WHERE id = NEW.child_id AND user_id = NEW.answered_by_id
            AND birth_date + interval '18 years' <= NEW.at + interval '1 day'
    ) THEN
        RAISE EXCEPTION 'Only a guardian, or a grown-up athlete, says what is agreed to.';
    END IF;
    IF NEW.signed_on IS NOT NULL AND EXISTS (
        SELECT FROM athletes_consent
        WHERE child_id = NEW.child_id AND purpose = NEW.purpose
            AND answered_by_id = NEW.answered_by_id
            AND coalesce(signed_on, (at - interval '1 day')::date) > NEW.signed_on
    ) THEN
        RAISE EXCEPTION 'A paper changes no answer that came after it.';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER a_consent_is_ones_own BEFORE INSERT ON athletes_consent
    FOR EACH ROW EXECUTE FUNCTION a_consent_is_ones_own();
"""
UNSAID = """
DROP TRIGGER a_consent_is_ones_own ON athletes_consent;
DROP FUNCTION a_consent_is_ones_own();
"""

KEPT = """
CREATE FUNCTION a_consent_is_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        -- Only the program sees whether a child is gone.
        IF acting_sees_all() AND NOT EXISTS (SELECT FROM athletes_child WHERE id = OLD.child_id) THEN
            RETURN NULL;
        END IF;
    ELSIF (NEW.id, NEW.child_id, NEW.purpose, NEW.given, NEW.version, NEW.at)
            = (OLD.id, OLD.child_id, OLD.purpose, OLD.given, OLD.version, OLD.at)
        AND NEW.signed_on IS NOT DISTINCT FROM OLD.signed_on
        AND (
            NEW.answered_by_id IS NOT DISTINCT FROM OLD.answered_by_id
            OR NEW.answered_by_id IS NULL
            AND NOT EXISTS (SELECT FROM athletes_user WHERE id = OLD.answered_by_id)
        )
        AND (
            NEW.recorded_by_id IS NOT DISTINCT FROM OLD.recorded_by_id
            OR NEW.recorded_by_id IS NULL
            AND NOT EXISTS (SELECT FROM athletes_user WHERE id = OLD.recorded_by_id)
        )
    THEN
        RETURN NULL;
    END IF;
    RAISE EXCEPTION 'What was agreed to is never changed; who thinks otherwise answers again.';
END $$;
CREATE CONSTRAINT TRIGGER a_consent_is_kept AFTER UPDATE OR DELETE ON athletes_consent
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION a_consent_is_kept();
"""
KEPT_NO_MORE = """
DROP TRIGGER a_consent_is_kept ON athletes_consent;
DROP FUNCTION a_consent_is_kept();
"""

COLUMNS = ("purpose", "given", "version", "answered_by_id", "signed_on")
RECORD = f"""
CREATE TRIGGER record_insert AFTER INSERT ON athletes_consent
    REFERENCING NEW TABLE AS new_rows FOR EACH STATEMENT
    EXECUTE FUNCTION record_changes({", ".join(f"'{name}'" for name in COLUMNS)});
"""
RECORD_NO_MORE = "DROP TRIGGER record_insert ON athletes_consent;"


class Migration(migrations.Migration):
    dependencies = [("athletes", "0037_growth_consents_are_consents")]

    operations = [
        migrations.RunSQL(SECURE, UNSECURE),
        migrations.RunSQL(SAID, UNSAID),
        migrations.RunSQL(KEPT, KEPT_NO_MORE),
        migrations.RunSQL(RECORD, RECORD_NO_MORE),
    ]
