"""What must hold before the first page is served: settings, and the web's own database role."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.db import connection
from django.http import Http404
from psycopg import sql

from program.config.grants import GRANTS
from program.demo.sign_in import walk_in
from program.operations.this_machine import refuse_others

REPOSITORY = Path(__file__).resolve().parents[3]
A_SECRET = "Zq7-only-for-these-tests-0aK3vB9xW2mN5pL8rT4yU6iO1eD-hG"
SETTINGS_OF_THE_TEST_RUN = {
    "DEBUG",
    "DEMO",
    "SECRET_KEY",
    "ALLOWED_HOSTS",
    "FLEDGE_POOL",
    "DJANGO_ALLOW_ASYNC_UNSAFE",
}


def started_with(*command: str, **environ: str) -> subprocess.CompletedProcess[str]:
    kept = {k: v for k, v in os.environ.items() if k not in SETTINGS_OF_THE_TEST_RUN}
    return subprocess.run(
        [sys.executable, *command],
        cwd=REPOSITORY,
        env={**kept, "DJANGO_SETTINGS_MODULE": "program.config.settings", **environ},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


@pytest.mark.parametrize(
    "environ", [{}, {"SECRET_KEY": settings.DEFAULT_SECRET_KEY}, {"DEMO": "0", "DEBUG": "0"}]
)
def test_nothing_starts_without_a_secret_of_its_own(environ):
    started = started_with("manage.py", "check", **environ)
    assert started.returncode != 0
    assert "Set SECRET_KEY to a long random value" in started.stderr


@pytest.mark.parametrize(
    "environ",
    [
        {"DEMO": "1", "ALLOWED_HOSTS": "localhost,[::1]"},
        {"DEBUG": "1", "ALLOWED_HOSTS": "localhost,[::1]"},
        {"SECRET_KEY": A_SECRET},
    ],
)
def test_a_demo_a_workbench_and_a_club_with_a_secret_start(environ):
    started = started_with("manage.py", "check", **environ)
    assert started.returncode == 0, started.stderr


@pytest.mark.parametrize("way", ["DEMO", "DEBUG"])
def test_what_is_for_this_machine_alone_answers_to_no_other_name(way):
    hosts = "localhost,192.0.2.7"
    started = started_with("manage.py", "check", **{way: "1", "ALLOWED_HOSTS": hosts})
    assert started.returncode != 0
    (line,) = started.stderr.splitlines()
    assert f"{way}=1 is for this machine alone, and 192.0.2.7 can be reached by others" in line


@pytest.mark.parametrize(
    "host",
    [
        "fledge.club.example",
        "192.0.2.7",
        "*",
        ".localhost",
        "",
        "0.0.0.0",  # noqa: S104 -- which is refused
        "::",
        "[::]",
    ],
)
def test_what_others_could_reach_is_not_this_machine(host):
    with pytest.raises(ImproperlyConfigured, match="for this machine alone"):
        refuse_others("DEMO", ["localhost", host])


@pytest.mark.parametrize("host", ["localhost", "LOCALHOST", "127.0.0.1", "127.0.1.1", "[::1]"])
def test_a_name_or_an_address_that_never_leaves_this_machine_is_its_own(host):
    refuse_others("DEMO", [host])


@pytest.mark.parametrize(
    "command",
    [
        ("serve", "--address", "0.0.0.0"),  # noqa: S104 -- which is refused
        ("runserver", "[::]:8124"),
    ],
)
def test_what_is_for_this_machine_alone_opens_no_door_to_others(command):
    started = started_with("manage.py", *command, DEBUG="1")
    assert started.returncode != 0
    (line,) = started.stderr.splitlines()
    assert "DEBUG=1 is for this machine alone" in line


def test_a_club_is_set_up_as_safely_as_django_knows_how():
    checked = ("manage.py", "check", "--deploy", "--fail-level", "WARNING")
    started = started_with(*checked, SECRET_KEY=A_SECRET)
    assert started.returncode == 0, started.stderr


# What a fresh process answers to somebody who is not signed in; no page of these asks the database.
ASKING = """
import json, sys, django
django.setup()
from django.conf import settings
settings.ALLOWED_HOSTS = ["testserver"]
settings.STORAGES = {**settings.STORAGES, "staticfiles": {
    "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
from django.test import Client
over_https = {"secure": True}
plain = Client().get("/sign-in/")
page = Client().get("/sign-in/", **over_https)
door = Client().get("/demo/sign-in/", **over_https)
(cookie,) = page.cookies.values()
print(json.dumps({
    "plain": plain.status_code,
    "to": plain.headers.get("Location", ""),
    "page": page.status_code,
    "offers_the_demo": "look around the demo" in page.content.decode(),
    "door": door.status_code,
    "door_exists": any(str(each.pattern) == "demo/sign-in/"
        for each in __import__("program.config.urls", fromlist=["x"]).urlpatterns),
    "door_is_loaded": "program.demo.sign_in" in sys.modules,
    "cookie": [cookie.key, cookie["path"], cookie["domain"]],
    "cookie_is_secure": bool(cookie["secure"]),
    "session": [settings.SESSION_COOKIE_NAME, settings.SESSION_COOKIE_PATH,
        settings.SESSION_COOKIE_DOMAIN],
    "sessions_are_secure": settings.SESSION_COOKIE_SECURE and settings.SESSION_COOKIE_HTTPONLY,
    "promises_https": page.headers.get("Strict-Transport-Security", ""),
    "policy": page.headers.get("Content-Security-Policy", ""),
}))
"""


def asked_of(**environ: str) -> dict[str, Any]:
    answered = started_with("-c", ASKING, DATABASE_URL=os.environ["DATABASE_URL"], **environ)
    assert answered.returncode == 0, answered.stderr
    return dict(json.loads(answered.stdout.splitlines()[-1]))


@pytest.fixture(scope="module")
def club() -> dict[str, Any]:
    return asked_of(SECRET_KEY=A_SECRET)


@pytest.fixture(scope="module")
def demo() -> dict[str, Any]:
    return asked_of(DEMO="1")


def test_the_demos_doors_are_not_there_without_the_demo(club):
    assert not club["offers_the_demo"]
    assert not club["door_exists"]
    assert not club["door_is_loaded"]
    assert club["door"] == 404


def test_the_demos_doors_are_there_with_the_demo(demo):
    assert demo["offers_the_demo"]
    assert demo["door_exists"]
    assert demo["door"] == 405  # it opens by POST alone


def test_the_demos_doors_open_for_nobody_but_its_invented_people(cast, rf):
    for email in (cast.head_coach.email, "", "head@fledge.example"):
        with pytest.raises(Http404):
            walk_in(rf.post("/demo/sign-in/", {"email": email}))


def test_a_club_is_reached_by_https_alone_and_its_cookies_travel_no_other_way(club):
    assert (club["plain"], club["to"]) == (301, "https://testserver/sign-in/")
    assert club["page"] == 200
    assert club["cookie_is_secure"]
    assert club["sessions_are_secure"]
    assert "max-age=31536000" in club["promises_https"]


def test_no_neighbour_under_a_clubs_domain_sets_its_cookies(club):
    """A browser takes a cookie of this name from the very host alone, over https."""
    assert club["cookie"] == ["__Host-csrftoken", "/", ""]
    assert club["session"] == ["__Host-sessionid", "/", None]


def test_the_demo_on_this_machine_needs_no_https(demo):
    assert (demo["plain"], demo["cookie_is_secure"]) == (200, False)
    assert (demo["cookie"][0], demo["session"][0]) == ("csrftoken", "sessionid")


def test_the_policy_of_a_club_allows_nothing_that_is_not_its_own(club):
    policy = dict(part.strip().partition(" ")[::2] for part in club["policy"].split(";"))
    assert policy["default-src"] == "'self'"
    assert policy["object-src"] == policy["base-uri"] == policy["frame-ancestors"] == "'none'"
    for kind in ("script-src", "style-src"):
        assert policy[kind].split()[0] == "'self'"
        assert policy[kind].split()[1].startswith("'nonce-")
        assert "unsafe" not in policy[kind]


# The role that serves pages


@pytest.fixture
def web(db) -> Iterator[psycopg.Connection]:
    """A connection of the role that serves pages, with the rights that migrating gives it."""
    database = connection.settings_dict
    where = {"host": database["HOST"], "port": database["PORT"], "dbname": database["NAME"]}
    with psycopg.connect(**where, user=database["USER"], autocommit=True) as owner:
        roles = owner.execute("SELECT 1 FROM pg_roles WHERE rolname = 'fledge_web'").fetchone()
        if roles is None:
            pytest.skip("the given DATABASE_URL has no role fledge_web")
        owner.execute(GRANTS.format(role='"fledge_web"'))
    with psycopg.connect(**where, user="fledge_web", autocommit=True) as as_web:
        yield as_web


def names(web: psycopg.Connection, question: str) -> list[str]:
    return [str(row[0]) for row in web.execute(question)]


def tables(web: psycopg.Connection) -> list[str]:
    return names(web, "SELECT tablename FROM pg_tables WHERE schemaname = 'public' ORDER BY 1")


def refused(web: psycopg.Connection, statement: str, *about: str) -> bool:
    """Whether the role lacks the right; were it done after all, it is taken back."""
    asked = sql.SQL(statement).format(*(sql.Identifier(name) for name in about))
    try:
        with web.transaction(force_rollback=True):
            web.execute(asked)
    except psycopg.errors.InsufficientPrivilege:
        return True
    return False


@pytest.mark.parametrize(
    "owned",
    [
        "SELECT relname FROM pg_class WHERE relowner = current_user::regrole",
        "SELECT proname FROM pg_proc WHERE proowner = current_user::regrole",
        "SELECT typname FROM pg_type WHERE typowner = current_user::regrole",
        "SELECT nspname FROM pg_namespace WHERE nspowner = current_user::regrole",
        "SELECT datname FROM pg_database WHERE datdba = current_user::regrole",
    ],
    ids=["tables", "functions", "types", "schemas", "databases"],
)
def test_the_web_role_owns_nothing(web, owned):
    assert names(web, owned) == []


@pytest.mark.parametrize(
    "statement",
    [
        "INSERT INTO {} DEFAULT VALUES",
        "UPDATE {} SET by_id = NULL",
        "DELETE FROM {}",
    ],
)
def test_the_web_role_reads_what_was_recorded_and_writes_none_of_it(web, statement):
    recorded = "athletes_recordedchange"
    web.execute("SET fledge.sees_all = 'on'")
    assert refused(web, statement, recorded)
    assert not refused(web, "SELECT FROM {}", recorded)


def test_the_web_role_has_old_records_let_go_by_their_owner(web):
    web.execute("SET fledge.sees_all = 'on'")
    assert not refused(web, "SELECT let_go_of_records()")
    owner = "SELECT proowner::regrole::text FROM pg_proc WHERE proname = 'let_go_of_records'"
    assert names(web, owner) == ["fledge_owner"]


def test_the_web_role_is_nobody_special_and_nobody_else(web):
    row = web.execute(
        "SELECT rolsuper, rolcreaterole, rolcreatedb, rolreplication, rolbypassrls"
        " FROM pg_roles WHERE rolname = current_user"
    ).fetchone()
    assert row == (False,) * 5
    may_become = "SELECT rolname FROM pg_roles WHERE pg_has_role(current_user, oid, 'MEMBER')"
    assert names(web, may_become) == ["fledge_web"]


@pytest.mark.parametrize(
    "statement",
    [
        "DROP TABLE {} CASCADE",
        "ALTER TABLE {} ADD COLUMN more text",
        "ALTER TABLE {} DISABLE TRIGGER ALL",
        "ALTER TABLE {} OWNER TO fledge_web",
        "ALTER TABLE {} DISABLE ROW LEVEL SECURITY",
        "TRUNCATE {} CASCADE",
        "CREATE TRIGGER mine BEFORE INSERT ON {} EXECUTE FUNCTION tsvector_update_trigger()",
        "CREATE RULE mine AS ON INSERT TO {} DO INSTEAD NOTHING",
    ],
)
def test_the_web_role_changes_no_table(web, statement):
    there = tables(web)
    assert len(there) > 30
    assert [name for name in there if not refused(web, statement, name)] == []


def test_the_web_role_drops_no_guard(web):
    guards = web.execute(
        "SELECT tgname, tgrelid::regclass::text FROM pg_trigger WHERE NOT tgisinternal"
    ).fetchall()
    assert len(guards) >= 3
    assert [guard for guard in guards if not refused(web, "DROP TRIGGER {} ON {}", *guard)] == []
    assert refused(web, "SET session_replication_role = replica")


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TABLE mine (line text)",
        "CREATE FUNCTION mine() RETURNS int LANGUAGE sql AS 'SELECT 1'",
        "CREATE SCHEMA mine",
        "CREATE EXTENSION dblink",
        "CREATE ROLE mine",
        "COPY (SELECT 1) TO PROGRAM 'true'",
        "SELECT pg_read_file('/etc/passwd')",
        "SET ROLE fledge_owner",
    ],
)
def test_the_web_role_makes_nothing_and_reaches_nothing_else(web, statement):
    assert refused(web, statement)


def test_the_web_role_reads_and_writes_every_row_but_those_that_are_recorded(web):
    for name in {*tables(web)} - {"athletes_recordedchange"}:
        rights = web.execute(
            "SELECT has_table_privilege(%s, 'SELECT') AND has_table_privilege(%s, 'INSERT')"
            " AND has_table_privilege(%s, 'UPDATE') AND has_table_privilege(%s, 'DELETE')",
            [f'public."{name}"'] * 4,
        ).fetchone()
        assert rights == (True,), name
