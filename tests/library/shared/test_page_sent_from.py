"""Where a form was sent from, as its browser says: a page of ours, or nothing."""

import pytest
from django.test import RequestFactory

from library.shared.access import page_sent_from


@pytest.mark.parametrize(
    ("said", "page"),
    [
        ("http://testserver/people/?page=2", "/people/?page=2"),
        ("http://testserver/", "/"),
        ("http://testserver", ""),
        ("https://elsewhere.example/people/", ""),
        ("people/", ""),
        ("ä", ""),
        ("/people/", ""),  # a browser says the whole address
        ("http://testserver//elsewhere.example/", ""),
        ("", ""),
    ],
)
def test_it_is_a_page_of_ours_or_none(said, page):
    assert page_sent_from(RequestFactory().post("/", headers={"Referer": said})) == page
