"""Ground for tests that run servers of their own: where they may be, and how they are ended."""

import contextlib
import os
import shutil
import signal
import tempfile
import time
from pathlib import Path

from program.config.embedded_postgres import server

FORGETFUL = {"fsync": "off"}
IN_MEMORY = Path("/dev/shm")  # noqa: S108
ROOM = 4_000_000_000


def made_folder(*, in_memory: bool) -> Path:
    """A folder that every account can reach, as pytest's own is closed to all but its user."""
    in_memory = in_memory and IN_MEMORY.is_dir() and shutil.disk_usage(IN_MEMORY).free > ROOM
    folder = Path(tempfile.mkdtemp(prefix="fledge-", dir=IN_MEMORY if in_memory else "/tmp"))  # noqa: S108
    folder.chmod(0o755)
    return folder


def end_servers_under(folder: Path) -> None:
    for cluster in {version.parent for version in folder.rglob("PG_VERSION")}:
        while left := server._at_work_in(cluster):
            for pid in left:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGQUIT)  # at once, yet leaving no shared memory behind
            time.sleep(0.02)
