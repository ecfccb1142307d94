"""Fledge's own Postgres: started, adopted, recovered and stopped over one data folder.

The server listens on a Unix socket in a private folder and nowhere else. Whoever can open that
folder is trusted: the user who runs Fledge, root, and the account that runs the server.
"""

import contextlib
import fcntl
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

import psycopg
from psycopg import sql

from program.config.embedded_postgres import create, locations, locks, server
from program.config.embedded_postgres.locations import EmbeddedPostgresError, Place

__all__ = [
    "EmbeddedPostgresError",
    "Server",
    "connection_settings",
    "remove",
    "running",
    "start",
    "start_again_if_gone",
    "stop",
]

DATABASE = "fledge"
OWNER = "fledge_owner"
WEB = "fledge_web"
ROLES = {
    OWNER: sql.SQL("LOGIN NOSUPERUSER NOCREATEROLE CREATEDB"),
    WEB: sql.SQL("LOGIN NOSUPERUSER NOCREATEROLE NOCREATEDB"),
}


@dataclass(frozen=True)
class Server:
    """A server: where its data and its socket are (`data_dir` may be elsewhere than asked)."""

    data_dir: Path
    socket_dir: Path
    port: int

    def url(self, role: str = WEB, database: str = DATABASE) -> str:
        host = quote(str(self.socket_dir))
        return f"postgres://{quote(role)}@/{quote(database)}?host={host}&port={self.port}"

    def settings(self, role: str = WEB, database: str = DATABASE) -> dict[str, Any]:
        """An entry of Django's DATABASES."""
        return {
            "ENGINE": "django.db.backends.postgresql",
            "NAME": database,
            "USER": role,
            "HOST": str(self.socket_dir),
            "PORT": str(self.port),
        }


def connection_settings(data_dir: Path, role: str, database: str = DATABASE) -> dict[str, Any]:
    """An entry of Django's DATABASES for a data folder's server; starts and touches nothing."""
    return _server(locations.locate(data_dir)).settings(role, database)


def start(data_dir: Path, settings: Mapping[str, str] | None = None) -> Server:
    """Start the server of a data folder and make sure of its roles and its database.

    Creates the data if there is none, recovers it after a crash, adopts a server already running
    there (which keeps the settings it was started with).

    settings: Postgres settings for a server that is started now.
    Raises EmbeddedPostgresError.
    """
    place = _place(data_dir)
    with _as_our_error(place):
        locations.make_home(place)
        with locks.locked(place) as lock:
            create.set_aside_data_of_a_folder_now_gone(place)
            if not place.cluster.exists():
                create.create(place, lock)
            _bring_up(place, settings or {})
    return _server(place)


def start_again_if_gone(data_dir: Path) -> bool:
    """Start the server of a data folder that has died, and say whether it had.

    Unlike `start` it makes no data: where the folder itself is gone, an empty one in its place
    would look as if nothing had ever been written. Raises EmbeddedPostgresError, and where the
    folder goes in the middle of it, too, says that it is gone.
    """
    place = _place(data_dir)
    try:
        with _as_our_error(place):
            if server.answers(place):
                return False
            if place.cluster.exists():
                with locks.locked(place):
                    _bring_up(place, {})
                return True
    except (EmbeddedPostgresError, psycopg.Error):
        if place.cluster.exists():
            raise
    raise EmbeddedPostgresError(
        f"The data folder {place.cluster} is gone while Postgres served from it."
    )


def _bring_up(place: Place, settings: Mapping[str, str]) -> None:
    """Of data that are there, and locked."""
    create.refuse_another_version(place)
    if not server.adopt(place):
        server.launch(place, settings)
    _ensure_roles_and_database(place)


def stop(data_dir: Path) -> None:
    """Stop the server of a data folder cleanly, cutting its connections. Nothing running: no error.

    Raises EmbeddedPostgresError, also when the running server is not proved to be ours.
    """
    place = _place(data_dir)
    with _as_our_error(place):
        locations.refuse_what_is_not_ours(place)
        if place.cluster.exists():
            with locks.locked(place):
                server.stop(place)


def remove(data_dir: Path) -> None:
    """Stop the server of a data folder and delete its data for good, wherever it is kept.

    What Fledge's Postgres did not put into the folder stays, and so does data set aside earlier.
    """
    stop(data_dir)
    place = _place(data_dir)
    with _as_our_error(place):
        locations.remove(place)


@contextlib.contextmanager
def running(data_dir: Path, settings: Mapping[str, str] | None = None) -> Iterator[Server]:
    """The server while the block runs; SIGINT, SIGTERM and SIGHUP end the block by SystemExit.

    The last block over a data folder, in whichever process, stops the server.
    """
    place = _place(data_dir)
    with _as_our_error(place):
        locations.make_home(place)
    with locks.ending_on_signals() as ignore_signals, locks.opened(place.in_use) as users:
        fcntl.flock(users, fcntl.LOCK_SH)
        try:
            yield start(data_dir, settings)
        finally:
            ignore_signals()
            if locks.is_the_last(users):
                stop(data_dir)


def _place(data_dir: Path) -> Place:
    if sys.platform != "linux":
        raise EmbeddedPostgresError(
            "Fledge runs its own Postgres on Linux only. Set DATABASE_URL, or use docker compose."
        )
    return locations.locate(data_dir)


def _server(place: Place) -> Server:
    return Server(place.cluster, place.socket_dir, locations.PORT)


@contextlib.contextmanager
def _as_our_error(place: Place) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise EmbeddedPostgresError(
            f"Postgres cannot use {place.home}: {error}. " + locations.ANOTHER_WAY
        ) from error


def _ensure_roles_and_database(place: Place) -> None:
    with server.connect(place) as connection:
        roles = {name for (name,) in connection.execute("SELECT rolname FROM pg_roles")}
        for role in ROLES.keys() - roles:
            connection.execute(
                sql.SQL("CREATE ROLE {} {}").format(sql.Identifier(role), ROLES[role])
            )
        databases = {name for (name,) in connection.execute("SELECT datname FROM pg_database")}
        if DATABASE not in databases:
            connection.execute(
                sql.SQL("CREATE DATABASE {} OWNER {}").format(
                    sql.Identifier(DATABASE), sql.Identifier(OWNER)
                )
            )
