"""How a server that cannot serve ends: in words, and so that it is not started again at once."""

import sys
from typing import Final, NoReturn

NOT_AGAIN: Final = 3
"""The status with which a gunicorn worker tells its master that another one would fail too."""


def end_start(why: str) -> NoReturn:
    sys.stderr.write(f"Fledge cannot start: {why}\n")
    raise SystemExit(NOT_AGAIN)
