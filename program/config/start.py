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
    One that does not answer, or goes away while it is asked, says nothing of its age.

    To be called once the apps are loaded.
    """
    from django.db import connections

    from program.operations.checks.database import database_answers

    deadline = time.monotonic() + PATIENCE
    while (is_in_trouble := not _refuse_what_is_wrong()) and time.monotonic() < deadline:
        connections.close_all()
        time.sleep(0.5)
    if is_in_trouble:
        answer = database_answers.run()
        sys.stderr.write(f"Fledge starts without its database: {answer.says}. {answer.mend}\n")
    connections.close_all()


def _refuse_what_is_wrong() -> bool:
    """False where the database could not be asked."""
    from django.db import Error

    from program.operations.checks import CHECKS
    from program.operations.database_trouble import is_database_trouble

    try:
        for check in CHECKS:
            if check.for_start and (result := check.ask()).is_wrong:
                end_start(f"{check.name}: {result.says}. {result.mend}")
    except Error as error:
        if not is_database_trouble(error):
            raise
        return False
    return True
