"""Whether anything was changed is said truly, also where one transaction stands in another."""

import pytest
from django.db import OperationalError, connection, transaction

from program.operations.written import Written
from tests.support.factories import CohortFactory

STOPS = "SELECT pg_catalog.set_config('lock_timeout', 'rubbish', true)"


def stopped(*, nested: bool, after_a_write: bool) -> bool:
    """What is said where a statement is stopped within a transaction."""
    written, error = Written(), None
    with connection.execute_wrapper(written):
        try:
            with transaction.atomic():
                if after_a_write:
                    CohortFactory()
                if nested:
                    with transaction.atomic(), connection.cursor() as cursor:
                        cursor.execute(STOPS)
                else:
                    with connection.cursor() as cursor:
                        cursor.execute(STOPS)
        except Exception as one:
            error = one
    assert error is not None
    return written.is_nothing_changed(error)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("nested", [False, True])
@pytest.mark.parametrize("after_a_write", [False, True])
def test_what_is_stopped_within_a_transaction_has_changed_nothing(nested, after_a_write):
    assert stopped(nested=nested, after_a_write=after_a_write)


@pytest.mark.django_db(transaction=True)
def test_what_was_kept_before_it_was_changed():
    written = Written()
    with connection.execute_wrapper(written):
        CohortFactory()
    assert not written.is_nothing_changed(OperationalError())
