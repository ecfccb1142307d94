"""The databases of Django's settings, as psycopg and Postgres' programs are told of them."""

from typing import Any, Final

import psycopg
from django.conf import settings
from django.db import connections

from program.operations.backup.postgres import Database

KNOWN: Final = {each.keyword.decode() for each in psycopg.pq.Conninfo.get_defaults()}
NOT_OURS: Final = {"dbname", "password", "options"}


def owner() -> str:
    """The alias of the role that owns the tables."""
    return "owner" if "owner" in settings.DATABASES else "default"


def database(alias: str) -> Database:
    """As it is named now, which in tests is another than in the settings."""
    return from_entry(connections[alias].settings_dict)


def from_entry(entry: dict[str, Any]) -> Database:
    told = {
        "host": entry.get("HOST"),
        "port": entry.get("PORT"),
        "user": entry.get("USER"),
        **entry.get("OPTIONS", {}),
    }
    parameters = {
        name: str(value)
        for name, value in told.items()
        if value and name in KNOWN and name not in NOT_OURS
    }
    return Database(entry["NAME"], parameters, entry.get("PASSWORD") or "")
