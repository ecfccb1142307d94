from django.db import migrations

# In the database, so that it holds by whatever way somebody is removed or switched off.
WITHDRAWN = """
CREATE FUNCTION athletes_withdrawn_is_not_mailed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    DELETE FROM athletes_outgoingmail WHERE invitation_id = NEW.id;
    RETURN NULL;
END $$;

CREATE TRIGGER withdrawn_is_not_mailed
AFTER UPDATE OF withdrawn_at ON athletes_invitation
FOR EACH ROW WHEN (OLD.withdrawn_at IS NULL AND NEW.withdrawn_at IS NOT NULL)
EXECUTE FUNCTION athletes_withdrawn_is_not_mailed();
"""

SWITCHED_OFF = """
CREATE FUNCTION athletes_switched_off_invites_nobody() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE athletes_invitation SET withdrawn_at = now()
    WHERE invited_by_id = NEW.id AND used_at IS NULL AND withdrawn_at IS NULL;
    RETURN NULL;
END $$;

CREATE TRIGGER switched_off_invites_nobody
AFTER UPDATE OF is_active ON athletes_user
FOR EACH ROW WHEN (OLD.is_active AND NOT NEW.is_active)
EXECUTE FUNCTION athletes_switched_off_invites_nobody();
"""

REMOVED = """
CREATE FUNCTION athletes_removed_guardian_invites_nobody() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE athletes_invitation SET withdrawn_at = now()
    WHERE invited_by_id = OLD.guardian_id AND child_id = OLD.child_id
    AND used_at IS NULL AND withdrawn_at IS NULL;
    RETURN NULL;
END $$;

CREATE TRIGGER removed_guardian_invites_nobody
AFTER DELETE ON athletes_guardianship
FOR EACH ROW EXECUTE FUNCTION athletes_removed_guardian_invites_nobody();
"""


def dropped(name: str, table: str) -> str:
    return f"DROP TRIGGER {name} ON {table}; DROP FUNCTION athletes_{name}();"


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0009_invitation_withdrawn_and_accepted_by"),
    ]

    operations = [
        migrations.RunSQL(WITHDRAWN, dropped("withdrawn_is_not_mailed", "athletes_invitation")),
        migrations.RunSQL(SWITCHED_OFF, dropped("switched_off_invites_nobody", "athletes_user")),
        migrations.RunSQL(
            REMOVED, dropped("removed_guardian_invites_nobody", "athletes_guardianship")
        ),
    ]
