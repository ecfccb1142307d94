"""A Postgres of its own for every test run, loaded as a pytest plugin before Django's settings are.

`DATABASE_URL`, where given, is used instead.
"""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

os.environ.setdefault("DEBUG", "1")


def keep_uploads_apart() -> None:
    folder = tempfile.mkdtemp(prefix="fledge-tests-uploads-")
    os.environ["FLEDGE_UPLOADS_DIR"] = folder
    atexit.register(shutil.rmtree, folder, ignore_errors=True)


if "FLEDGE_UPLOADS_DIR" not in os.environ:
    keep_uploads_apart()

# Each worker has its own rows, and the nightly clearing deletes every file that has no row.
if worker := os.environ.get("PYTEST_XDIST_WORKER"):
    own = Path(os.environ["FLEDGE_UPLOADS_DIR"]) / worker
    own.mkdir(exist_ok=True)
    os.environ["FLEDGE_UPLOADS_DIR"] = str(own)

# Nothing here outlives the run, so nothing needs to survive a crash. Autovacuum would look into
# tables that an open transaction has just filled, find them empty, and have Postgres plan so.
FAST_AND_FORGETFUL = {
    "fsync": "off",
    "synchronous_commit": "off",
    "full_page_writes": "off",
    "autovacuum": "off",
}


def start_own_server() -> None:
    from program.config.embedded_postgres import start, stop

    folder = Path(tempfile.mkdtemp(prefix="fledge-tests-"))
    # Postgres runs as another account where the tests run as root; it has to get in.
    folder.chmod(0o711)
    data_dir = folder / "pg"
    server = start(data_dir, FAST_AND_FORGETFUL)
    os.environ["DATABASE_URL"] = server.url("fledge_owner")

    def stop_and_remove() -> None:
        stop(data_dir)
        shutil.rmtree(server.data_dir, ignore_errors=True)
        shutil.rmtree(folder, ignore_errors=True)

    atexit.register(stop_and_remove)


if "DATABASE_URL" not in os.environ:
    start_own_server()
