"""The life of Fledge's own Postgres: making, starting, crashing, recovering, stopping."""

import contextlib
import os
import shutil
import signal
import subprocess
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import psycopg
import pytest

from program.config.embedded_postgres import (
    EmbeddedPostgresError,
    Server,
    binaries,
    connection_settings,
    locations,
    remove,
    running,
    server,
    start,
    start_again_if_gone,
    stop,
)
from tests.program.config.embedded_postgres.ground import FORGETFUL

# --- what a first start makes ---------------------------------------------------------------------


def test_a_first_start_makes_the_database_its_two_roles_and_no_open_port(ground, ask):
    first = start(ground / "data", FORGETFUL)
    role = "SELECT (rolcanlogin, rolsuper, rolcreatedb, rolcreaterole)::text FROM pg_roles"
    assert ask(first, f"{role} WHERE rolname = 'fledge_owner'") == "(t,f,t,f)"
    assert ask(first, f"{role} WHERE rolname = 'fledge_web'") == "(t,f,f,f)"
    owner = "SELECT datdba::regrole::text FROM pg_database WHERE datname = 'fledge'"
    assert ask(first, owner) == "fledge_owner"
    assert ask(first, "SHOW listen_addresses") == ""
    assert ask(first, "SHOW unix_socket_directories") == f'"{first.socket_dir}"'


def test_the_database_is_utf8_and_sorts_the_same_on_every_machine(ground, ask, monkeypatch):
    for name in ("LANG", "LC_ALL", "LANGUAGE"):
        monkeypatch.setenv(name, "xx_YY.nonsense")
    first = start(ground / "data", FORGETFUL)
    locale = "SELECT (datlocprovider, datlocale, pg_encoding_to_char(encoding))::text"
    assert ask(first, f"{locale} FROM pg_database WHERE datname = 'fledge'") == "(b,C.UTF-8,UTF8)"
    assert ask(first, "SELECT upper('éš')", "fledge_web") == "ÉŠ"


def test_the_owner_can_add_the_extensions_and_the_web_role_can_make_nothing(data_dir, ask):
    ours = start(data_dir)
    for extension in ("pg_trgm", "unaccent", "btree_gist"):
        ask(ours, f"CREATE EXTENSION {extension}", "fledge_owner")
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        ask(ours, "CREATE TABLE notes (line text)", "fledge_web")


def test_a_start_cut_short_before_the_roles_is_completed_by_the_next(data_dir, ask):
    ours = start(data_dir)
    with psycopg.connect(ours.url("postgres", "postgres"), autocommit=True) as connection:
        connection.execute("DROP DATABASE fledge")
        connection.execute("DROP ROLE fledge_web")
    start(data_dir)
    assert ask(ours, "SELECT current_user::text", "fledge_web") == "fledge_web"


def test_settings_can_be_told_without_starting_anything(ground):
    told = connection_settings(ground / "data", "fledge_web")
    assert not (ground / "data").exists()
    assert told == start(ground / "data", FORGETFUL).settings("fledge_web")
    with psycopg.connect(
        host=told["HOST"], port=told["PORT"], user=told["USER"], dbname=told["NAME"]
    ) as connection:
        assert connection.info.user == "fledge_web"


@pytest.mark.parametrize(
    "name",
    [
        "a folder with spaces",
        """it's a "quoted" $HOME & `named` folder; \\o/ 100%""",
        "one, two, three",
        "Übungen für Žofie 運動",
        "/".join(["a-long-way-down" * 10] * 5),
    ],
    ids=["spaces", "quotes and signs", "commas", "not ascii", "long"],
)
def test_any_path_will_do(ground, made_once, ask, name):
    data_dir = ground / name
    assert ask(start(data_dir, FORGETFUL), "SELECT 1", "fledge_web") == 1
    stop(data_dir)


def test_the_programs_may_be_installed_under_any_path(ground, ask, moved_wheel):
    moved_wheel("""Zoë's "own", $HOME & `programs`\\""")
    assert ask(start(ground / "data", FORGETFUL), "SELECT 1", "fledge_web") == 1


def test_a_path_no_server_can_hold_is_refused_in_plain_words(ground):
    with pytest.raises(EmbeddedPostgresError, match="longer than 900 bytes"):
        start(ground / "/".join(["very-long-name"] * 70))


def test_settings_given_are_the_servers_settings(data_dir, ask):
    ours = start(data_dir, {"work_mem": "7MB", "statement_timeout": "1234ms"})
    assert ask(ours, "SHOW work_mem") == "7MB"
    assert ask(ours, "SHOW statement_timeout") == "1234ms"


def test_the_socket_and_the_port_cannot_be_set(data_dir):
    with pytest.raises(EmbeddedPostgresError, match="listen_addresses"):
        start(data_dir, {"listen_addresses": "*"})


def test_a_setting_postgres_refuses_is_reported_in_its_words(data_dir):
    with pytest.raises(EmbeddedPostgresError, match="unrecognized configuration parameter"):
        start(data_dir, {"no_such_setting": "1"})


def test_two_first_starts_at_once_end_with_one_server(ground, owner, postmaster):
    data_dir = ground / "data"
    owners = [owner(data_dir, wait=False) for _ in range(2)]
    with ThreadPoolExecutor() as pool:
        assert list(pool.map(lambda each: each.stdout.readline(), owners)) == [b"running\n"] * 2
    assert server._at_work_in(data_dir / "postgres") >= {postmaster(data_dir)}
    assert (ground / "data" / "postgres.log").read_text().count("ready to accept") == 1


def test_an_initdb_cut_short_is_begun_anew(ground, owner, ask):
    data_dir = ground / "data"
    process = owner(data_dir, wait=False)
    while not (data_dir / "postgres.half-made" / "PG_VERSION").exists():
        assert process.poll() is None
        time.sleep(0.005)
    process.kill()
    process.wait()
    assert not (data_dir / "postgres").exists()
    assert ask(start(data_dir, FORGETFUL), "SELECT 1", "fledge_web") == 1
    assert not (data_dir / "postgres.half-made").exists()


# --- a second start -------------------------------------------------------------------------------


def test_a_second_start_adopts_the_running_server(data_dir, postmaster):
    start(data_dir)
    pid = postmaster(data_dir)
    start(data_dir)
    assert postmaster(data_dir) == pid


def test_a_killed_server_comes_back_with_every_acknowledged_row(data_dir, ask, postmaster):
    ours = start(data_dir)
    ask(ours, "CREATE TABLE rows (number int)", "fledge_owner")
    acknowledged = []

    def write_until_cut_off():
        with (
            contextlib.suppress(psycopg.OperationalError),
            psycopg.connect(ours.url("fledge_owner"), autocommit=True) as connection,
        ):
            for number in range(1_000_000):
                connection.execute("INSERT INTO rows VALUES (%s)", [number])
                acknowledged.append(number)

    writer = threading.Thread(target=write_until_cut_off)
    writer.start()
    while len(acknowledged) < 50:
        time.sleep(0.01)
    os.kill(postmaster(data_dir), signal.SIGKILL)
    start(data_dir)
    writer.join()
    # The row under way when the server died may be there without having been acknowledged.
    kept = ask(ours, "SELECT array_agg(number ORDER BY number) FROM rows")
    assert kept[: len(acknowledged)] == acknowledged
    assert len(kept) <= len(acknowledged) + 1


def test_a_server_of_a_folder_since_replaced_is_not_adopted(ground, made_once, ask):
    data_dir = ground / ("a-long-name" * 10)  # its socket is elsewhere, and outlives the folder
    ask(start(data_dir, FORGETFUL), "CREATE TABLE earlier (line text)", "fledge_owner")
    data_dir.rename(ground / "removed")
    subprocess.run(["cp", "-a", made_once, data_dir], check=True)
    assert ask(start(data_dir), "SELECT to_regclass('earlier') IS NULL")


def test_a_killed_owner_leaves_a_server_that_the_next_start_adopts(data_dir, owner, postmaster):
    process = owner(data_dir)
    pid = postmaster(data_dir)
    process.kill()
    process.wait()
    start(data_dir)
    assert postmaster(data_dir) == pid


def test_a_stale_pid_file_naming_a_strangers_process_is_no_obstacle(data_dir, bystander, ask):
    start(data_dir)
    killed = server._recorded_pid(locations.locate(data_dir))
    pid_file = data_dir / "postgres" / "postmaster.pid"
    os.kill(killed, signal.SIGKILL)
    pid_file.write_text(pid_file.read_text().replace(str(killed), str(bystander.pid), 1))
    assert ask(start(data_dir), "SELECT 1", "fledge_web") == 1
    stop(data_dir)


def test_a_stale_pid_file_naming_another_folders_server_is_no_obstacle(data_dir, ground, ask):
    other_dir = ground / "other"
    subprocess.run(["cp", "-a", data_dir, other_dir], check=True)
    other = start(other_dir)
    shutil.copy(other_dir / "postgres" / "postmaster.pid", data_dir / "postgres")
    stop(data_dir)
    ours = start(data_dir)
    assert ask(ours, "SHOW data_directory") == str(data_dir / "postgres")
    stop(data_dir)
    assert ask(other, "SHOW data_directory") == str(other_dir / "postgres")


@pytest.mark.parametrize("content", ["", "not a number\n"])
def test_a_pid_file_cut_short_by_a_crash_is_no_obstacle(data_dir, ask, content):
    (data_dir / "postgres" / "postmaster.pid").write_text(content)
    assert ask(start(data_dir), "SELECT 1", "fledge_web") == 1


def test_a_server_that_does_not_answer_is_waited_for_then_named(
    data_dir, ask, postmaster, monkeypatch
):
    monkeypatch.setattr(server, "PATIENCE", 0.1)
    monkeypatch.setattr(server, "CONNECT_SECONDS", 2)
    ours = start(data_dir)
    pid = postmaster(data_dir)
    os.kill(pid, signal.SIGSTOP)
    try:
        with pytest.raises(EmbeddedPostgresError, match="does not answer"):
            start(data_dir)
    finally:
        os.kill(pid, signal.SIGCONT)
    start(data_dir)
    assert postmaster(data_dir) == pid
    assert ask(ours, "SELECT 1") == 1


def test_a_folder_of_another_postgres_version_is_left_alone_and_named(data_dir):
    (data_dir / "postgres" / "PG_VERSION").write_text("17\n")
    with pytest.raises(EmbeddedPostgresError, match=r"made by Postgres 17.*this is Postgres 18"):
        start(data_dir)


# --- stopping -------------------------------------------------------------------------------------


def test_a_stop_is_clean_and_can_be_repeated(data_dir, postmaster):
    start(data_dir)
    stop(data_dir)
    assert postmaster(data_dir) is None
    assert server._at_work_in(data_dir / "postgres") == set()
    assert state_of(data_dir) == "shut down"
    stop(data_dir)


def test_stopping_what_was_never_started_does_nothing(ground):
    stop(ground / "nothing here")
    assert not (ground / "nothing here").exists()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_signal_to_the_owner_stops_the_server_cleanly(data_dir, owner, postmaster, number):
    # Whoever runs the tests may ignore hang-ups, which a child inherits.
    process = owner(data_dir, preexec_fn=lambda: signal.signal(number, signal.SIG_DFL))
    process.send_signal(number)
    assert process.wait(20) == 128 + number
    assert server._at_work_in(data_dir / "postgres") == set()
    assert state_of(data_dir) == "shut down"


def test_a_hang_up_that_is_ignored_stays_ignored(data_dir, owner, ask):
    process = owner(data_dir, preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_IGN))
    process.send_signal(signal.SIGHUP)
    time.sleep(0.2)
    assert process.poll() is None
    assert ask(start(data_dir), "SELECT 1") == 1


def test_a_signal_to_the_terminals_group_does_not_reach_the_server(data_dir, postmaster):
    start(data_dir)
    assert os.getsid(postmaster(data_dir)) != os.getsid(0)


def test_the_last_of_two_owners_stops_the_server(data_dir, owner, postmaster):
    other = owner(data_dir)
    with running(data_dir):
        pid = postmaster(data_dir)
    assert postmaster(data_dir) == pid
    other.terminate()
    other.wait(20)
    assert postmaster(data_dir) is None


def test_a_pid_file_alone_gets_nobody_signalled(data_dir, bystander):
    (data_dir / "postgres" / "postmaster.pid").write_text(f"{bystander.pid}\n")
    stop(data_dir)
    assert bystander.poll() is None


def test_a_server_whose_folder_was_moved_is_named_and_left_running(ground, data_dir):
    start(data_dir)
    pid = server._recorded_pid(locations.locate(data_dir))
    moved = data_dir.rename(ground / "moved")
    with pytest.raises(EmbeddedPostgresError, match="Was the folder moved"):
        stop(moved)
    assert pid in server._at_work_in(moved / "postgres")


def test_a_folder_that_goes_while_its_server_is_started_again_is_named_as_gone(
    data_dir, monkeypatch
):
    launch = server.launch

    def meanwhile_moved(place, settings):
        place.cluster.rename(place.cluster.with_name("elsewhere"))
        launch(place, settings)

    monkeypatch.setattr(server, "launch", meanwhile_moved)
    with pytest.raises(EmbeddedPostgresError, match="is gone while Postgres served from it"):
        start_again_if_gone(data_dir)
    assert not (data_dir / "postgres").exists()


def test_a_folder_that_goes_under_its_server_is_named_as_gone_when_it_is_looked_after(data_dir):
    started = start(data_dir, FORGETFUL)
    started.data_dir.rename(started.data_dir.with_name("elsewhere"))
    with pytest.raises(EmbeddedPostgresError, match="is gone while Postgres served from it"):
        start_again_if_gone(data_dir)


def test_removing_leaves_what_is_not_ours(data_dir):
    start(data_dir)
    (data_dir / "photo.jpg").touch()
    remove(data_dir)
    assert list(data_dir.iterdir()) == [data_dir / "photo.jpg"]


def test_the_log_does_not_repeat_what_people_typed(data_dir, ask):
    ours = start(data_dir)
    ask(ours, "CREATE TABLE people (name text PRIMARY KEY)", "fledge_owner")
    for refused in ("INSERT INTO people VALUES ('Mira'), ('Mira')", "SELECT 'Mira'::int"):
        with pytest.raises(psycopg.Error):
            ask(ours, refused, "fledge_owner")
    with slow_question(ours, "Mira") as ended, slow_question(ours, "Mira") as crashed:
        ask(ours, f"SELECT pg_terminate_backend({ended}, 5000)")
        os.kill(crashed, signal.SIGKILL)
        log = data_dir / "postgres.log"
        while "terminated by signal 9" not in log.read_text():
            time.sleep(0.01)
    assert "terminating connection due to administrator command" in log.read_text()
    assert "Mira" not in log.read_text()


@contextlib.contextmanager
def slow_question(ours: Server, word: str) -> Iterator[int]:
    """The server process busy with a question that has this word in it."""
    with contextlib.closing(psycopg.connect(ours.url("fledge_owner"))) as asker:
        asker.pgconn.send_query(f"SELECT '{word}', pg_sleep(60)".encode())
        busy = "SELECT count(*) FROM pg_stat_activity WHERE pid = %s AND wait_event = 'PgSleep'"
        with psycopg.connect(ours.url("postgres"), autocommit=True) as watcher:
            while watcher.execute(busy, [asker.info.backend_pid]).fetchone() == (0,):
                time.sleep(0.01)
        yield asker.info.backend_pid


def state_of(data_dir: Path) -> str:
    """What the control file says of a data folder's last moment, read by Postgres's own program."""
    control = subprocess.run(
        [binaries.bundled() / binaries.INSTALLED / "bin" / "pg_controldata", data_dir / "postgres"],
        capture_output=True,
        text=True,
        check=True,
        env={"LC_ALL": "C"},
    ).stdout
    (line,) = [line for line in control.splitlines() if line.startswith("Database cluster state")]
    return line.partition(":")[2].strip()
