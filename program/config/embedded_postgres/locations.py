"""Where Fledge's own Postgres keeps things, and which account runs it.

Postgres refuses to run as root. For root a system account runs it; where that account cannot reach
the requested folder, the data lives in a corner of root's own and a note in the requested folder
says so. No folder that was already there ever has its mode or owner changed.
"""

import contextlib
import hashlib
import os
import pwd
import shutil
import stat
import tempfile
from dataclasses import dataclass
from pathlib import Path

PORT = 5432
SOCKET_NAME = f".s.PGSQL.{PORT}"
SOCKET_PATH_BYTES = 107
DATA_PATH_BYTES = 900  # Postgres holds a path in 1,024 bytes, its own file names included
SYSTEM_ACCOUNTS = ("fledge", "postgres", "nobody")
ROOTS_CORNER = Path("/var/lib/fledge")
OTHERS_CORNER = Path("/var/tmp")  # noqa: S108 -- only a folder proved ours is used in it
PATIENCE = 120.0  # seconds to wait for another start, for recovery, for a stop
ANOTHER_WAY = "Choose another folder with FLEDGE_DATA_DIR, or another server with DATABASE_URL."


class EmbeddedPostgresError(Exception):
    """What is wrong with Fledge's own Postgres, and the way out."""


@dataclass(frozen=True)
class Place:
    """One data folder: what was asked for, where the data really is, and who runs the server."""

    requested: Path
    home: Path
    socket_dir: Path
    account: pwd.struct_passwd | None  # None: whoever runs this process

    @property
    def cluster(self) -> Path:
        return self.home / "postgres"

    @property
    def half_made(self) -> Path:
        return self.home / "postgres.half-made"

    @property
    def log(self) -> Path:
        return self.home / "postgres.log"

    @property
    def old_log(self) -> Path:
        return self.home / "postgres.old.log"

    @property
    def lock(self) -> Path:
        return self.home / "lock"

    @property
    def in_use(self) -> Path:
        return self.home / "in-use"

    @property
    def socket(self) -> Path:
        return self.socket_dir / SOCKET_NAME

    @property
    def socket_lock(self) -> Path:
        return self.socket_dir / f"{SOCKET_NAME}.lock"

    @property
    def note(self) -> Path:
        return note_in(self.requested)

    @property
    def kept_apart(self) -> bool:
        return self.home != self.requested

    @property
    def server_uid(self) -> int:
        return self.account.pw_uid if self.account else os.geteuid()


def note_in(requested: Path) -> Path:
    return requested / "where-the-data-is.txt"


def locate(data_dir: Path) -> Place:
    """The place for a data folder. Touches nothing; the same answer for as long as modes stay.

    Data once made stays where it was made, whatever the modes say later.
    """
    requested = Path(os.path.realpath(data_dir))
    apart = _corner() / hashlib.sha256(os.fsencode(requested)).hexdigest()[:16]
    account = _system_account() if os.geteuid() == 0 else None
    home = apart if account and _must_keep_apart(requested, account) else requested
    if account:
        account = _owner_among_system_accounts(home / "postgres") or account
    socket_dir = home / "socket"
    return Place(
        requested, home, socket_dir if _fits_a_socket(socket_dir) else apart / "socket", account
    )


def _corner() -> Path:
    return ROOTS_CORNER if os.geteuid() == 0 else OTHERS_CORNER / f"fledge-{os.geteuid()}"


def _system_account() -> pwd.struct_passwd:
    for name in SYSTEM_ACCOUNTS:
        with contextlib.suppress(KeyError):
            return pwd.getpwnam(name)
    raise EmbeddedPostgresError(
        "Postgres does not run as root, and this machine has none of the accounts "
        f"{', '.join(SYSTEM_ACCOUNTS)}. Run Fledge as an ordinary user, or add one of them."
    )


def _owner_among_system_accounts(cluster: Path) -> pwd.struct_passwd | None:
    with contextlib.suppress(OSError, KeyError):
        owner = pwd.getpwuid(cluster.lstat().st_uid)
        return owner if owner.pw_name in SYSTEM_ACCOUNTS else None
    return None


def _must_keep_apart(requested: Path, account: pwd.struct_passwd) -> bool:
    if (requested / "postgres").exists():
        return False
    return note_in(requested).exists() or not reaches(account, requested)


def reaches(account: pwd.struct_passwd, path: Path) -> bool:
    """Whether the account may pass through every folder of `path` that exists, by their modes."""
    folders = [folder for folder in (path, *path.parents) if folder.is_dir()]
    return all(allows(account, folder, stat.S_IXOTH) for folder in folders)


def allows(account: pwd.struct_passwd, path: Path, wanted: int) -> bool:
    """Whether the mode of `path` gives the account what `wanted` (an S_I?OTH bit) stands for."""
    status = path.stat()
    if status.st_uid == account.pw_uid:
        wanted <<= 6
    elif status.st_gid == account.pw_gid:
        wanted <<= 3
    return bool(status.st_mode & wanted)


def _fits_a_socket(folder: Path) -> bool:
    """The kernel's limit on a socket's path; and clients read a comma as a list of hosts."""
    try:
        path = str(folder / SOCKET_NAME).encode()
    except UnicodeEncodeError:
        return False
    return len(path) <= SOCKET_PATH_BYTES and b"," not in path


def make_folder(path: Path, mode: int, account: pwd.struct_passwd | None = None) -> None:
    """Make a folder and its missing parents with exactly this mode; one that is there stays as is.

    It appears with its mode and owner already set: a second first start must not see it half made.
    """
    if path.is_dir():
        return
    make_folder(path.parent, mode)
    new = Path(tempfile.mkdtemp(prefix=".new-", dir=path.parent))
    if account:
        os.chown(new, account.pw_uid, account.pw_gid)
    new.chmod(mode)
    try:
        new.rename(path)
    except OSError:
        new.rmdir()
        if not path.is_dir():
            raise


def make_home(place: Place) -> None:
    """Make the folders the data and the lock live in, or say whose they are."""
    if len(os.fsencode(place.home)) > DATA_PATH_BYTES:
        raise EmbeddedPostgresError(
            f"The path of the data folder is longer than {DATA_PATH_BYTES} bytes: {place.home}. "
            + ANOTHER_WAY
        )
    refuse_what_is_not_ours(place)
    if place.account and not reaches(place.account, place.home):
        raise EmbeddedPostgresError(
            f"The account {place.account.pw_name}, which runs Postgres and made the data in "
            f"{place.home}, can no longer reach it. Open the folders above it: chmod o+x each."
        )
    for folder in (place.requested, place.home):
        make_folder(folder, mode=0o711 if place.account else 0o700)


def make_socket_folder(place: Place) -> None:
    """Make the private folder of the socket; its reader is this process, its writer the server."""
    make_folder(place.socket_dir.parent, mode=0o711 if place.account else 0o700)
    make_folder(place.socket_dir, mode=0o700, account=place.account)
    refuse_what_is_not_ours(place)
    if place.socket_dir.stat().st_mode & 0o077:
        raise EmbeddedPostgresError(
            f"Others can open {place.socket_dir}, and whoever can open it can read the data. "
            "Remove that folder and start again: Fledge makes it anew."
        )


def remove(place: Place) -> None:
    """Delete what `place` holds, and its folders where nothing else is left in them."""
    for path in (place.cluster, place.half_made, place.socket_dir):
        with contextlib.suppress(FileNotFoundError):
            shutil.rmtree(path)
    for path in (place.log, place.old_log, place.lock, place.in_use, place.note):
        path.unlink(missing_ok=True)
    for folder in (place.socket_dir.parent, place.home, place.requested):
        with contextlib.suppress(OSError):
            folder.rmdir()


def refuse_what_is_not_ours(place: Place) -> None:
    """Raises, for anyone but the user who made the data folder, with that user's name.

    Links to the data are followed; on the way to the socket they are not, since it may be in a
    folder where others could place one.
    """
    mine = {os.geteuid(), place.server_uid}
    servers = {place.server_uid}
    allowed = {
        place.requested: mine,
        place.home: mine,
        place.cluster: servers,
        _corner(): mine,
        place.socket_dir.parent: mine,
        place.socket_dir: servers,
    }
    for path, owners in allowed.items():
        try:
            owner = path.stat(follow_symlinks=path == place.cluster).st_uid
        except FileNotFoundError:
            continue
        except PermissionError as error:
            raise EmbeddedPostgresError(
                f"{path} belongs to another user and is closed to {_name(os.geteuid())}. "
                "Run Fledge as the user who made it. " + ANOTHER_WAY
            ) from error
        if owner not in owners:
            raise EmbeddedPostgresError(
                f"{path} belongs to {_name(owner)}, and this is {_name(os.geteuid())}. "
                f"Run Fledge as {_name(owner)}. " + ANOTHER_WAY
            )


def _name(uid: int) -> str:
    try:
        return pwd.getpwuid(uid).pw_name
    except KeyError:
        return f"user {uid}"
