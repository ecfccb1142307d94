"""How a web server starts: only where what it would serve makes sense; if not, it ends in words."""

import sys
import time
from typing import Final, NoReturn

from program.operations.processes import NOT_AGAIN

PATIENCE: Final = 10
"""Seconds that a database which starts beside us is waited for. After them pages are served that
say Fledge is busy, and `/health/ready` says why."""


def end_start(why: str) -> NoReturn:
    sys.stderr.write(f"Fledge cannot start: {why}\n")
    raise SystemExit(NOT_AGAIN)


def refuse_unfit_start() -> None:
    """Ends the process where pages would only fail: the database is of another age than the code.

    To be called once the apps are loaded.
    """
    from django.db import connections

    from program.operations.checks import CHECKS

    if _database_answers():
        for check in CHECKS:
            if check.for_start and (result := check.run()).is_wrong:
                end_start(f"{check.name}: {result.says}. {result.mend}")
    connections.close_all()


def _database_answers() -> bool:
    from program.operations.checks.database import database_answers

    deadline = time.monotonic() + PATIENCE
    while (result := database_answers.run()).is_wrong:
        if time.monotonic() > deadline:
            sys.stderr.write(f"Fledge starts without its database: {result.says}. {result.mend}\n")
            return False
        time.sleep(0.5)
    return True
