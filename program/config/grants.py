"""After migrating, the web role may read and write rows, and nothing else; what is recorded of
changes it may only read.

It owns no table, so it can drop nothing, switch off no trigger and (once there is row security)
cannot step past it.
"""

from typing import Any, Final

from django.conf import settings
from django.db import connections

READ_ONLY: Final = "athletes_recordedchange"

GRANTS = f"""
GRANT USAGE ON SCHEMA public TO {{role}};
GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO {{role}};
GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO {{role}};
DO $$ BEGIN
    IF to_regclass('{READ_ONLY}') IS NOT NULL THEN  -- migrated that far
        REVOKE INSERT, UPDATE, DELETE ON {READ_ONLY} FROM {{role}};
    END IF;
END $$;
"""  # noqa: S608 -- nothing from outside

LACKS_RIGHTS: Final = f"""
SELECT relname FROM pg_class
WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p')
    AND relname <> '{READ_ONLY}' AND NOT (
    has_table_privilege(oid, 'SELECT') AND has_table_privilege(oid, 'INSERT')
    AND has_table_privilege(oid, 'UPDATE') AND has_table_privilege(oid, 'DELETE'))
"""  # noqa: S608 -- nothing from outside
"""Tables on which whoever asks has less than the grants give."""


def grant_to_web_role(using: str, **signal: Any) -> None:
    """Receiver of `post_migrate`; does nothing where one role both owns and serves."""
    web_role = settings.DATABASES["default"]["USER"]
    if web_role == connections[using].settings_dict["USER"]:
        return
    with connections[using].cursor() as cursor:
        cursor.execute(GRANTS.format(role=connections[using].ops.quote_name(web_role)))
