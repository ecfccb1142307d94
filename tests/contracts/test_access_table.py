"""The table of who may open what is the one of the code."""

import pytest

from tests.support.access_table import PAGE, let_in_by_the_door, page
from tests.support.addresses import ALLOWED, PUBLIC, ROUTES, TABLED


def test_the_page_is_current():
    assert PAGE.read_text() == page(), "uv run python -m tests.write_access_table"


@pytest.mark.parametrize(
    ("address", "cells"),
    [
        ("/library/exercises/<slug:slug>/", "| – | – | – | opens all | opens all | – |"),
        ("/children/<uuid:public_id>/kit/", "| – | opens, sends own | – | opens, sends own |"),
        ("/sessions/<int:session_id>/publish/", "| – | – | – | sends own | sends all | – |"),
        ("/whom-to-ask/all/", "| – | – | – | – | – | opens |"),
        ("/people/", "| – | – | – | – | opens | – |"),
    ],
)
def test_it_says_who_may(address, cells):
    assert f"| `{address}` {cells}" in page()


def test_no_door_keeps_out_whom_the_table_lets_in_nor_stands_open_to_strangers():
    """A view may narrow what its door lets in; the other way round is a table that is wrong."""
    for name in TABLED:
        door, allowed = let_in_by_the_door(ROUTES[name].view), ALLOWED[name].door
        assert allowed <= door, name
        assert (door == PUBLIC) == (allowed == PUBLIC), f"{name} has no door"
