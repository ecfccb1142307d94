"""A few wrong requests to every address, as everybody, are never answered with a fault of ours.
`uv run python -m tests.fuzz` sends some 50,000."""

import pytest
from django.db import connection
from django.urls import reverse

from program.models import Block
from tests.fuzz.cases import Case, answered, case, settle
from tests.support.addresses import TABLED
from tests.support.scene import Scene

EACH, SEED = 10, 1


@pytest.fixture
def settled(scene: Scene) -> Scene:
    settle()
    return scene


def test_whatever_is_sent_is_never_an_error_of_ours(settled):
    found = []
    for name in TABLED:
        for number in range(EACH):
            sent = case(settled, name, number, SEED)
            status, why = answered(settled, sent)
            if status >= 500:
                found.append(f"--seed {SEED} --only {name} --case {number}: {status}, {why}")
    assert found == [], "\n".join(found)


def test_the_same_number_is_the_same_request(settled):
    for number in range(20):
        one, same = (case(settled, "program:breaks", number, SEED) for _ in range(2))
        assert str(one) == str(same)
    assert case(settled, "program:breaks", 0, SEED) != case(settled, "program:breaks", 0, SEED + 1)


LOOKS = Case("coach", "GET", "/blocks/")


def test_a_fault_is_found(settled, monkeypatch):
    def broken(*args):
        raise RuntimeError("broken")

    monkeypatch.setattr("program.blocks.views.blocks.blocks_by_cohort", broken)
    status, why = answered(settled, LOOKS)
    assert (status, why) == (500, "RuntimeError('broken')")


def test_a_row_that_points_at_nothing_is_found_before_any_commit(settled, monkeypatch):
    """Postgres asks where a foreign key points at the end of a transaction, which no test here
    comes to."""
    block = settled.own.session.block

    def point_at_nothing(*args):
        with connection.cursor() as cursor:
            cursor.execute("UPDATE program_block SET cohort_id = 0 WHERE id = %s", [block.pk])
        return []

    monkeypatch.setattr("program.blocks.views.blocks.blocks_by_cohort", point_at_nothing)
    status, why = answered(settled, LOOKS)
    assert status == 500
    assert why.startswith("at the commit: IntegrityError")
    assert Block.objects.get(pk=block.pk).cohort_id == block.cohort_id
    assert reverse("program:blocks") == LOOKS.path
