"""Checks of the database: whether it answers, as whom, and of what age it is."""

import datetime as dt
import os
from typing import Any, Final

from django.conf import settings
from django.db import DatabaseError, connections
from django.utils import timezone

from program.config.grants import LACKS_RIGHTS
from program.operations.checks.result import Result, check, look, well, wrong
from program.operations.database_trouble import kind_of
from program.operations.migrations import Name, ages

MOST_APART: Final = dt.timedelta(seconds=30)
FIRST_YEAR, LAST_YEAR = 2026, 2100


@check("database", for_ready=True)
def database_answers() -> Result:
    try:
        ((version,),) = _rows("default", "SHOW server_version")
    except DatabaseError as error:
        return wrong(
            f"it does not answer ({kind_of(error)})",
            "Start Postgres, and see that DATABASE_URL has its host, name, user and password."
            if "DATABASE_URL" in os.environ
            else "Start Fledge's own: `manage.py serve`, or `manage.py database start`.",
        )
    return well(f"Postgres {version} answers")


@check("migrations", for_ready=True, for_start=True)
def migrations() -> Result:
    found = ages()
    if found.unknown:
        return wrong(
            f"this code is older than the data: {_some(found.unknown)} are unknown to it",
            "Start the newer Fledge again, or restore a backup from before its migration.",
        )
    if found.unapplied:
        return wrong(
            f"{_some(found.unapplied)} are not applied",
            "Run `manage.py migrate`, or `manage.py serve --prepare`, which does it.",
        )
    return well("all applied, none unknown")


def _some(names: list[Name]) -> str:
    told = [f"{app}.{name}" for app, name in names[:3]]
    return ", ".join(told) + (f" and {len(names) - 3} more" if len(names) > 3 else "")


def _rows(alias: str, question: str) -> list[tuple[Any, ...]]:
    with connections[alias].cursor() as cursor:
        cursor.execute(question)
        return list(cursor.fetchall())


MAY_MORE = """
SELECT rolsuper OR rolcreaterole OR rolcreatedb OR rolbypassrls
    OR has_schema_privilege('public', 'CREATE')
    OR has_database_privilege(current_database(), 'CREATE')
FROM pg_roles WHERE rolname = current_user
"""
OWNED = """
SELECT count(*) FILTER (WHERE relowner = current_user::regrole),
    count(*) FILTER (WHERE relowner <> current_user::regrole)
FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p', 'S')
"""
SEES_ALL = "SELECT coalesce(current_setting('fledge.sees_all', true), '') = 'on'"


@check("row security", for_start=True)
def row_security() -> Result:
    """A command's connection that does not begin as the program reads no child, and says nothing
    of it."""
    ((sees_all,),) = _rows("default", SEES_ALL)
    if not sees_all and "pool" not in settings.DATABASES["default"]["OPTIONS"]:
        return wrong(
            "a connection does not begin as the program, so no child would be found",
            "Something between Fledge and Postgres drops what a connection is opened with (the "
            "startup parameter `options`): only what serves pages may go through such a pooler.",
        )
    return well("this begins as the program, and what serves pages as nobody")


@check("web role")
def web_role() -> Result:
    if "owner" not in settings.DATABASES:
        return look(
            "one role owns the tables and serves pages",
            "Make a second role and set DATABASE_OWNER_URL to the owner's.",
        )
    if _rows("default", LACKS_RIGHTS):
        return wrong(
            "it may not read or write every table", "Run manage.py migrate, which grants it."
        )
    ((owned, _),), ((may_more,),) = _rows("default", OWNED), _rows("default", MAY_MORE)
    if owned or may_more:
        return wrong(
            "it owns tables" if owned else "it may create, or is a superuser",
            "Let DATABASE_URL name a role without rights of its own, and DATABASE_OWNER_URL the "
            "owner.",
        )
    return well("it reads and writes rows, owns nothing and may not create")


WHICH = "SELECT current_database(), pg_postmaster_start_time()"
MAY_CREATE = "SELECT has_schema_privilege('public', 'CREATE')"


@check("owner role")
def owner_role() -> Result:
    if "owner" not in settings.DATABASES:
        return well("the web role")
    try:
        if _rows("owner", WHICH) != _rows("default", WHICH):
            return wrong(
                "it is of another database than the web role's",
                "Let DATABASE_OWNER_URL and DATABASE_URL name the same database.",
            )
        ((_, strange),), ((may_create,),) = _rows("owner", OWNED), _rows("owner", MAY_CREATE)
    except DatabaseError as error:
        return wrong(
            f"it cannot sign in ({kind_of(error)})",
            "See the user and the password in DATABASE_OWNER_URL."
            if "DATABASE_OWNER_URL" in os.environ
            else "Mend what is wrong with the database first.",
        )
    if strange or not may_create:
        return wrong(
            f"{strange} tables are another role's" if strange else "it may not create tables",
            "As a superuser: REASSIGN OWNED BY the other role TO it, "
            "GRANT CREATE ON SCHEMA public TO it.",
        )
    return well("it owns every table")


@check("clock")
def clock() -> Result:
    ((theirs,),), ours = _rows("default", "SELECT clock_timestamp()"), timezone.now()
    if not FIRST_YEAR <= ours.year <= LAST_YEAR:
        return wrong(f"it is {ours:%d %B %Y} here", "Set this machine's clock (chrony, NTP).")
    if abs(theirs - ours) > MOST_APART:
        return wrong(
            f"{abs(theirs - ours).total_seconds():.0f} seconds apart from the database's",
            "Set both clocks (chrony, NTP): sign-in codes and limits depend on them.",
        )
    return well("as the database's")
