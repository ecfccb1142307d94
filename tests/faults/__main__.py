"""`uv run python -m tests.faults [NAME …]`: each fault, and what was found; with any, status 1.

It starts a Postgres of its own that keeps its word (the tests' does not), in a folder that is
deleted at the end, with the invented program in it.
"""

import contextlib
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.faults.left_out import LeftOut

KILLS, CUTS, POSTGRES, CLIENTS, RACES, WRITES = 50, 20, 10, 300, 500, 2000


def main() -> int:
    folder = Path(tempfile.mkdtemp(prefix="fledge-faults-"))
    folder.chmod(0o711)  # Postgres runs as another account where this runs as root
    try:
        return _in(folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _in(folder: Path) -> int:
    from program.config import embedded_postgres

    data_dir = folder / "data"
    server = embedded_postgres.start(data_dir)
    environ = {
        "DEMO": "1",
        "FLEDGE_DATA_DIR": str(data_dir),
        "FLEDGE_UPLOADS_DIR": str(folder / "uploads"),
        "DATABASE_URL": server.url("fledge_web"),
        "DATABASE_OWNER_URL": server.url("fledge_owner"),
        "DJANGO_SETTINGS_MODULE": "program.config.settings",
    }
    os.environ.update(environ)
    try:
        return _tried(environ)
    finally:
        embedded_postgres.remove(data_dir)


def _tried(environ: dict[str, str]) -> int:
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    call_command("load_library", verbosity=0)
    call_command("load_demo", athletes=12, weeks=4, verbosity=0)
    from tests.faults import many_writers, pain, web, worker

    faults = {
        "worker killed": lambda: worker.kill_in_the_middle(KILLS, environ),
        "database cut": lambda: worker.cut_in_the_middle(CUTS, environ),
        "web server killed": lambda: web.kill_the_web_server(KILLS, environ),
        "Postgres killed": lambda: web.kill_postgres(POSTGRES, environ),
        "pain while publishing": lambda: pain.race(RACES, environ),
        "killed while it hurts": lambda: pain.kill(KILLS, environ),
        "many writers on one block": lambda: many_writers.storm(WRITES, environ),
        "slow clients": lambda: web.crowd(CLIENTS, environ),
        "no mail server": lambda: web.no_mail_server(5, environ),
        "two deploys": lambda: web.two_deploys(environ),
        "clock a day ahead": lambda: worker.clock_ahead(environ),
        "disk full": lambda: _with_a_full_disk(environ, web.full_disk),
    }
    wanted = sys.argv[1:] or list(faults)
    total = 0
    for name in wanted:
        begun = time.monotonic()
        try:
            found = faults[name]()
        except LeftOut as why:
            print(f"{name}: left out, {why}", flush=True)
            continue
        total += len(found)
        print(f"{name}: {len(found)} findings, {time.monotonic() - begun:.0f} s", flush=True)
        for each in found[:10]:
            print(f"  {each}", flush=True)
    print(f"{total} findings")
    return 1 if total else 0


def _with_a_full_disk(environ: dict[str, str], fault: Callable[..., list[str]]) -> list[str]:
    with _tiny_disk() as folder:
        return fault(environ, str(folder))


@contextlib.contextmanager
def _tiny_disk() -> Iterator[Path]:
    """A file system of a few pages, and those full."""
    folder = Path(tempfile.mkdtemp(prefix="fledge-full-"))
    mount = ["mount", "-t", "tmpfs", "-o", "size=4096", "tmpfs", str(folder)]
    try:
        if subprocess.run(mount, check=False, capture_output=True).returncode:
            raise LeftOut("only root mounts a tiny disk")
        with contextlib.suppress(OSError):
            (folder / "full").write_bytes(b"." * 8192)
        yield folder
        subprocess.run(["umount", str(folder)], check=False)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main())
