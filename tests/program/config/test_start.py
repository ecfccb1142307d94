"""What a process asks its database before it begins, and what it makes of the answers."""

import psycopg
import pytest
from django.db import OperationalError

from program.config import start
from program.operations import checks
from program.operations.checks.result import Check, Result, well, wrong
from program.operations.processes import NOT_AGAIN

CUT = OperationalError("the connection is lost")
CUT.__cause__ = psycopg.OperationalError("the connection is lost")


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch):
    """Has the checks of a start answer one after the other, and gives how long was waited."""
    waited: list[float] = []
    monkeypatch.setattr(start.time, "sleep", waited.append)

    def answering(*answers: Result | Exception) -> list[float]:
        left = iter(answers)

        def ask() -> Result:
            answer = next(left)
            if isinstance(answer, Exception):
                raise answer
            return answer

        monkeypatch.setattr(checks, "CHECKS", [Check("age", ask, for_start=True)])
        return waited

    return answering


pytestmark = pytest.mark.django_db


def test_a_database_of_another_age_ends_the_start_for_good(asked, capsys):
    asked(wrong("it is older", "Migrate."))
    with pytest.raises(SystemExit) as ended:
        start.refuse_unfit_start()
    assert ended.value.code == NOT_AGAIN
    assert capsys.readouterr().err == "Fledge cannot start: age: it is older. Migrate.\n"


def test_one_that_goes_away_while_it_is_asked_is_waited_for_and_ends_nothing(asked, capsys):
    waited = asked(CUT, CUT, well("it is of our age"))
    start.refuse_unfit_start()
    assert len(waited) == 2
    assert capsys.readouterr().err == ""


def test_one_that_stays_away_is_done_without_and_it_is_said(asked, capsys, monkeypatch):
    monkeypatch.setattr(start, "PATIENCE", -1)
    asked(CUT)
    start.refuse_unfit_start()
    assert capsys.readouterr().err.startswith("Fledge starts without its database: ")


def test_a_fault_of_our_own_is_none_of_the_databases(asked):
    asked(RuntimeError("ours"))
    with pytest.raises(RuntimeError, match="ours"):
        start.refuse_unfit_start()
