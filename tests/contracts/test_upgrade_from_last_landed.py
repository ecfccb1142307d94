"""A database as commit 3e0499e left it, with every one of the migrations that are squashed now, is
brought up to date: it keeps all its rows and ends with the tables a fresh one has.

`last_landed.sql.xz` is what pg_dump wrote of it (--inserts --no-owner --no-privileges
--no-comments): an invented program beside the club of `tests.support.scene`, and a row or two in
each table that both leave empty.
"""

import lzma
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.executor import MigrationExecutor

LANDED = Path(__file__).with_name("last_landed.sql.xz")
DJANGO_ADDS_TO = {"django_migrations", "django_content_type", "auth_permission"}

type Columns = dict[str, str]
"""A table and its columns, as SQL."""
type Rows = dict[str, set[str]]

TABLES_AND_COLUMNS = """
SELECT attrelid::regclass::text, string_agg(quote_ident(attname), ', ' ORDER BY attname)
FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid
WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' AND attnum > 0 AND NOT attisdropped
GROUP BY attrelid
"""
SCHEMA = """
SELECT attrelid::regclass::text, string_agg(
    format('%s %s %s %s %s', attname, format_type(atttypid, atttypmod), attnotnull, attidentity,
        pg_get_expr(adbin, adrelid)),
    E'\n' ORDER BY attname)
FROM pg_attribute
JOIN pg_class ON pg_class.oid = attrelid
LEFT JOIN pg_attrdef ON adrelid = attrelid AND adnum = attnum
WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' AND attnum > 0 AND NOT attisdropped
GROUP BY attrelid
UNION ALL
SELECT conrelid::regclass || ' ' || conname, pg_get_constraintdef(oid)
FROM pg_constraint WHERE connamespace = 'public'::regnamespace
UNION ALL
SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'
UNION ALL
SELECT tgrelid::regclass || ' ' || tgname, pg_get_triggerdef(oid)
FROM pg_trigger WHERE NOT tgisinternal
UNION ALL
SELECT oid::regprocedure::text, pg_get_functiondef(oid)
FROM pg_proc
WHERE pronamespace = 'public'::regnamespace
    AND oid NOT IN (SELECT objid FROM pg_depend WHERE deptype = 'e')
UNION ALL
SELECT 'extension ' || extname, extversion FROM pg_extension
"""
# Postgres writes a condition a little differently once it has come through a dump.
READ_EVERY_CONDITION_ANEW = """
DO $$
DECLARE old record;
BEGIN
    FOR old IN
        SELECT conrelid::regclass AS its_table, conname, pg_get_constraintdef(oid) AS definition
        FROM pg_constraint WHERE connamespace = 'public'::regnamespace AND contype = 'c'
    LOOP
        EXECUTE format('ALTER TABLE %s DROP CONSTRAINT %I', old.its_table, old.conname);
        EXECUTE format(
            'ALTER TABLE %s ADD CONSTRAINT %I %s', old.its_table, old.conname, old.definition);
    END LOOP;
    FOR old IN
        SELECT tgrelid::regclass AS its_table, tgname, pg_get_triggerdef(oid) AS definition
        FROM pg_trigger WHERE tgqual IS NOT NULL AND NOT tgisinternal
    LOOP
        EXECUTE format('DROP TRIGGER %I ON %s', old.tgname, old.its_table);
        EXECUTE old.definition;
    END LOOP;
    FOR old IN
        SELECT indexrelid::regclass AS name, pg_get_indexdef(indexrelid) AS definition
        FROM pg_index JOIN pg_class ON pg_class.oid = indexrelid
        WHERE indpred IS NOT NULL AND NOT indisexclusion
            AND relnamespace = 'public'::regnamespace
    LOOP
        EXECUTE format('DROP INDEX %s', old.name);
        EXECUTE old.definition;
    END LOOP;
END $$
"""


@dataclass(frozen=True)
class Upgraded:
    """What the upgrade set out to do, the rows before and after it, and the tables after it."""

    plan: list[str]
    before: Rows
    after: Rows
    schema: dict[str, str]


@pytest.fixture(scope="module")
def upgraded(django_db_setup, django_db_blocker) -> Upgraded:
    with django_db_blocker.unblock(), landed_database() as database:
        columns = dict(answer(database, TABLES_AND_COLUMNS))
        before = rows_of(database, columns)
        executor = MigrationExecutor(database)
        plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
        call_command("migrate", database=database.alias, verbosity=0)
        return Upgraded(
            [str(migration) for migration, _ in plan],
            before,
            rows_of(database, columns),
            schema_of(database),
        )


@contextmanager
def landed_database() -> Iterator[BaseDatabaseWrapper]:
    name = f"{connection.settings_dict['NAME']}_landed"
    connections.settings["landed"] = {**connection.settings_dict, "NAME": name}
    database = connections["landed"]
    with database._nodb_cursor() as server:
        server.execute(f"CREATE DATABASE {name}")
    with database.cursor() as cursor:
        cursor.execute(lzma.decompress(LANDED.read_bytes()))
    database.close()  # pg_dump leaves the connection without a search path
    yield database
    database.close()
    with database._nodb_cursor() as server:
        server.execute(f"DROP DATABASE {name}")
    del connections["landed"], connections.settings["landed"]


def answer(database: BaseDatabaseWrapper, sql: str) -> list[tuple]:
    with database.cursor() as cursor:
        cursor.execute(sql)
        return cursor.fetchall()


def rows_of(database: BaseDatabaseWrapper, columns: Columns) -> Rows:
    return {
        table: {row for (row,) in answer(database, f"SELECT ROW({names})::text FROM {table}")}
        for table, names in columns.items()
    }


def schema_of(database: BaseDatabaseWrapper) -> dict[str, str]:
    with database.cursor() as cursor:
        cursor.execute(READ_EVERY_CONDITION_ANEW)
    return dict(answer(database, SCHEMA))


def test_a_squashed_migration_is_not_done_again(upgraded):
    assert [name for name in upgraded.plan if "_squashed_" in name] == []


def test_every_row_is_still_there_as_it_was(upgraded):
    for table, rows in upgraded.before.items():
        kept = upgraded.after[table]
        assert rows <= kept if table in DJANGO_ADDS_TO else rows == kept, table


def test_what_is_upgraded_has_rows_in_every_table_of_ours(upgraded):
    ours = ("library_", "athletes_", "program_")
    empty = {table for table, rows in upgraded.before.items() if not rows}
    assert [table for table in empty if table.startswith(ours)] == []


def test_its_tables_guards_and_functions_are_those_of_a_fresh_database(upgraded, db):
    assert sorted(upgraded.schema.items() ^ schema_of(connection).items()) == []


def test_no_model_waits_for_a_migration(db):
    call_command("makemigrations", check_changes=True, dry_run=True, verbosity=0)
