"""Whether a request has changed anything by now, so that a page can say it truly."""

from collections.abc import Callable
from typing import Any, Final

from django.db import connection, transaction

from program.operations.database_trouble import was_refused_by_the_server, was_stopped_for_another

WRITES: Final = ("INSERT", "UPDATE", "DELETE")
NOBODYS: Final = ('"program_cache"', 'INTO "athletes_signin"', 'UPDATE "athletes_signin"')
"""What says nothing of anything that anybody saved."""

ENDS_A_PART: Final = ("ROLLBACK TO SAVEPOINT", "RELEASE SAVEPOINT")
"""What a statement that was stopped within two transactions is followed by."""


class Written:
    """A wrapper around every statement of a request (`connection.execute_wrapper`)."""

    def __init__(self) -> None:
        self._is_something_kept = False
        self._is_something_open = False
        self._stopped_at_a_statement = False

    def is_nothing_changed(self, error: BaseException | None) -> bool:
        """Certainly nothing, where this error ended it. False also where the answer to a commit was
        lost on the way."""
        if self._is_something_kept:
            return False
        if self._stopped_at_a_statement or not self._is_something_open:
            return True
        return was_stopped_for_another(error)

    def __call__(
        self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any
    ) -> Any:
        if str(sql).startswith(ENDS_A_PART):
            return execute(sql, params, many, context)
        is_a_write = _is_a_write(sql)
        self._stopped_at_a_statement = False
        if is_a_write:
            self._is_something_open = True
        try:
            done = execute(sql, params, many, context)
        except Exception as error:
            # Within a transaction all of it is undone; on its own, only if the server says so.
            self._stopped_at_a_statement = (
                connection.in_atomic_block or not is_a_write or was_refused_by_the_server(error)
            )
            raise
        if is_a_write:
            transaction.on_commit(self._keep)  # at once, outside a transaction
        return done

    def _keep(self) -> None:
        self._is_something_kept = True


def _is_a_write(sql: Any) -> bool:
    statement = str(sql).lstrip()
    return statement.upper().startswith(WRITES) and not any(name in statement for name in NOBODYS)
