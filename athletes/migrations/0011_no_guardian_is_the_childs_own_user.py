from django.db import migrations

# Triggers, since both rules ask another table's row. Whoever writes one of the two keeps the child
# locked, so that the other waits and sees it.
GUARDIAN = """
CREATE FUNCTION athletes_guardian_is_no_athlete() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM 1 FROM athletes_child WHERE id = NEW.child_id FOR NO KEY UPDATE;
    IF EXISTS (SELECT 1 FROM athletes_child WHERE id = NEW.child_id AND user_id = NEW.guardian_id)
    OR EXISTS (SELECT 1 FROM athletes_user WHERE id = NEW.guardian_id AND role = 'athlete') THEN
        RAISE check_violation USING
            CONSTRAINT = 'guardian_is_no_athlete', TABLE = 'athletes_guardianship',
            MESSAGE = 'a young athlete is nobody''s guardian';
    END IF;
    RETURN NEW;
END $$;

CREATE TRIGGER guardian_is_no_athlete
BEFORE INSERT OR UPDATE OF child_id, guardian_id ON athletes_guardianship
FOR EACH ROW EXECUTE FUNCTION athletes_guardian_is_no_athlete();
"""

OWN_USER = """
CREATE FUNCTION athletes_own_user_is_an_athlete() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (SELECT 1 FROM athletes_user WHERE id = NEW.user_id AND role = 'athlete')
    OR EXISTS (
        SELECT 1 FROM athletes_guardianship
        WHERE child_id = NEW.id AND guardian_id = NEW.user_id
    ) THEN
        RAISE check_violation USING
            CONSTRAINT = 'own_user_is_an_athlete', TABLE = 'athletes_child',
            MESSAGE = 'a child''s own user is a young athlete and not its guardian';
    END IF;
    RETURN NEW;
END $$;

CREATE TRIGGER own_user_is_an_athlete
BEFORE INSERT OR UPDATE OF user_id ON athletes_child
FOR EACH ROW WHEN (NEW.user_id IS NOT NULL)
EXECUTE FUNCTION athletes_own_user_is_an_athlete();
"""


def dropped(name: str, table: str) -> str:
    return f"DROP TRIGGER {name} ON {table}; DROP FUNCTION athletes_{name}();"


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0010_who_leaves_invites_nobody"),
    ]

    operations = [
        migrations.RunSQL(GUARDIAN, dropped("guardian_is_no_athlete", "athletes_guardianship")),
        migrations.RunSQL(OWN_USER, dropped("own_user_is_an_athlete", "athletes_child")),
    ]
