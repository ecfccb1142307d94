#!/usr/bin/env python
"""Fledge's command line: `uv run manage.py demo` starts everything."""

import os
import signal
import sys


def end(number: int, frame: object) -> None:
    """Ctrl-C, without a traceback. What has begun is left in good order; while Python still reads
    the programs nothing has, and an exception could get lost in the middle of an import."""
    apps = sys.modules.get("django.apps")
    if not (apps and apps.apps.ready):
        os._exit(128 + number)
    raise SystemExit(128 + number)


if __name__ == "__main__":
    if sys.argv[1:2] != ["shell"]:  # which goes on after a Ctrl-C
        signal.signal(signal.SIGINT, end)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "program.config.settings")
    if sys.argv[1:2] == ["demo"]:
        os.environ.setdefault("DEMO", "1")
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line
    from django.db import OperationalError

    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as wrong:
        sys.exit(f"Fledge cannot start: {wrong}")
    except OperationalError:
        from program.operations.checks.database import database_answers

        answer = database_answers.run()
        if not answer.is_wrong or "--traceback" in sys.argv:
            raise
        sys.exit(f"The database {answer.says.removeprefix('it ')}. {answer.mend}")
