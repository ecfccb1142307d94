"""`uv run python -m tests.fuzz`: some 50,000 wrong requests, as many to each address; what was
answered with 5xx and how to send it again; with any, status 1.

    --each N     so many to each address
    --seed S     others
    --only NAME  to this address alone; with --case N the one request of that number, printed

Each of its processes starts a Postgres of its own, with the club of the contracts in it.
"""

import argparse
import json
import logging
import os
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Sequence
from itertools import product

EACH, SEED, PROCESSES = 320, 1, 2


def main() -> int:
    asked = _asked()
    if asked.only or asked.share is not None:
        return _send(asked)
    begun = time.monotonic()
    command = [sys.executable, "-m", "tests.fuzz", *sys.argv[1:], "--share"]
    shares = [
        subprocess.Popen([*command, str(n)], stdout=subprocess.PIPE, text=True)
        for n in range(PROCESSES)
    ]
    said = [each.communicate()[0].splitlines() for each in shares]
    if any(each.returncode not in {0, 1} for each in shares):
        print("A process of it broke: what it said stands above.")
        return 2
    for lines in said:
        print("\n".join(lines[:-1]), end="\n" if lines[1:] else "")
    counted = [Counter[str](json.loads(lines[-1])) for lines in said]
    _say(sum(counted, Counter[str]()), time.monotonic() - begun, asked.seed)
    return max(each.returncode for each in shares)


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("--each", type=int, default=EACH)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--only")
    parser.add_argument("--case", type=int)
    parser.add_argument("--share", type=int, help=argparse.SUPPRESS)
    return parser.parse_args()


def _send(asked: argparse.Namespace) -> int:
    """What one process sends; the last line it prints is how often which status came."""
    _set_up()
    from tests.fuzz.cases import answered, case, settle
    from tests.support import scene as club
    from tests.support.addresses import TABLED

    names = [asked.only] if asked.only else TABLED[asked.share :: PROCESSES]
    numbers: Sequence[int] = range(asked.each) if asked.case is None else [asked.case]
    statuses = Counter[int]()
    with club.scene() as scene:
        settle()
        for name, number in product(names, numbers):
            sent = case(scene, name, number, asked.seed)
            status, why = answered(scene, sent)
            statuses[status] += 1
            if status >= 500:
                print(f"--seed {asked.seed} --only {name} --case {number}: {status}, {why}")
            if status >= 500 or asked.case is not None:
                print(f"  {sent}", flush=True)
    print(json.dumps(statuses))
    return 1 if any(status >= 500 for status in statuses) else 0


def _set_up() -> None:
    from tests import postgres  # noqa: F401 -- a database of our own, before Django looks for one

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "program.config.settings")
    import django

    django.setup()
    from django.db import connection
    from django.test.utils import setup_test_environment

    setup_test_environment(debug=False)
    connection.creation.create_test_db(verbosity=0)
    for name in ("django.request", "django.security", "fledge"):
        logging.getLogger(name).setLevel(logging.CRITICAL)


def _say(statuses: Counter[str], seconds: float, seed: int) -> None:
    told = ", ".join(f"{count} of {status}" for status, count in sorted(statuses.items()))
    faults = sum(count for status, count in statuses.items() if status >= "500")
    print(f"{statuses.total()} requests, seed {seed}, {seconds:.0f} s: {told}")
    print(f"{faults} answers of 5xx")


if __name__ == "__main__":
    sys.exit(main())
