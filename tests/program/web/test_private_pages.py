"""What a browser keeps after somebody has signed out, and what a page may not use.

Every page's own answer is looked at in `tests/contracts/test_every_page.py`.
"""

import pytest
from django.test import Client
from django.urls import reverse

pytestmark = pytest.mark.django_db


def test_signing_out_wipes_what_the_browser_has_fetched(coach):
    answer = coach.post(reverse("account_logout"))
    assert answer.headers["Clear-Site-Data"] == '"cache"'
    assert coach.get(reverse("account_logout")).status_code == 405


def test_what_is_nobodys_is_kept_as_before(coach):
    for address in ("program:manifest", "program:worker"):
        for browser in (coach, Client()):
            kept = browser.get(reverse(address)).headers.get("Cache-Control", "")
            assert "private" not in kept
            assert "no-store" not in kept


def test_a_page_for_a_coach_is_kept_by_no_browser_also_when_it_is_compressed(coach):
    page = coach.get(reverse("program:week"), headers={"Accept-Encoding": "gzip"})
    assert page.headers["Content-Encoding"] == "gzip"
    assert page.headers["Cache-Control"] == "no-store"
    assert "Cookie" in page.headers["Vary"]


def test_the_follow_along_keeps_its_sounds_and_its_screen_and_nobody_films(coach):
    policy = coach.get(reverse("program:week")).headers["Permissions-Policy"].split(", ")
    assert {"autoplay=(self)", "screen-wake-lock=(self)", "camera=()", "payment=()"} <= {*policy}
    assert not [each for each in policy if each.startswith("publickey-credentials")]
