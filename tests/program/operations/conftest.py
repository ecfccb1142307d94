import shutil
from collections.abc import Iterator

import pytest

from tests.program.config.embedded_postgres.ground import end_servers_under, made_folder
from tests.program.operations.served import LOCK_TIMEOUT, Served


@pytest.fixture(scope="package")
def served() -> Iterator[Served]:
    ground = made_folder(in_memory=True)
    try:
        served = Served(ground, WEB_LOCK_TIMEOUT=str(LOCK_TIMEOUT))
        served.start()
        yield served
        served.stop()
    finally:
        end_servers_under(ground)
        shutil.rmtree(ground)
