"""What is kept of somebody who is signed in: nothing that opens a door, and for no longer than
needed."""

import datetime as dt
import re
import time

import pytest
from django.core import mail
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.models import SignIn
from athletes.session_store import SessionStore
from athletes.user_agents import UNKNOWN, device_of
from program.operations.backup.signals import database_restored
from tests.support.bodies import access_rules
from tests.support.work import work_off

pytestmark = pytest.mark.django_db

OWN_PAGE = reverse("athletes:mail_setting")


@pytest.fixture
def later(monkeypatch):
    """Moves the clock on."""
    begun = timezone.now()

    def move(**by):
        moment = begun + dt.timedelta(**by)
        monkeypatch.setattr("django.utils.timezone.now", lambda: moment)

    return move


def everything_stored() -> str:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT encode(sealed, 'escape') || athletes_signin::text FROM athletes_signin"
        )
        return "".join(row[0] for row in cursor.fetchall())


def is_signed_in(client: Client) -> bool:
    return client.get(OWN_PAGE).status_code == 200


def mailed_code() -> str:
    work_off()
    pattern = r"^\s*([A-Z0-9]{3,}(?:-[A-Z0-9]{3,})?)\s*$"
    return re.search(pattern, mail.outbox[-1].body, re.MULTILINE)[1]


def enter_the_code(browser: Client) -> None:
    browser.post(reverse("account_confirm_login_code"), {"code": mailed_code()})


def test_somebody_signs_in_by_a_code_and_neither_code_nor_key_is_stored(cast):
    browser = Client(
        headers={"User-Agent": "Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Firefox/140.0"}
    )
    browser.post(reverse("account_login"), {"email": cast.coach.email}, follow=True)
    code = mailed_code()
    waiting = browser.cookies["sessionid"].value
    for secret in (code, waiting, cast.coach.email):
        assert secret not in everything_stored()
    browser.post(reverse("account_confirm_login_code"), {"code": code})
    assert is_signed_in(browser)
    assert browser.cookies["sessionid"].value not in everything_stored()
    (kept,) = SignIn.objects.all()
    assert (kept.user, kept.device) == (cast.coach, "Firefox on Linux")


def test_the_key_of_before_signing_in_is_of_no_use_after_it(cast):
    """Nobody signs somebody else's browser in to a key that they know."""
    browser = Client()
    browser.post(reverse("account_login"), {"email": cast.coach.email}, follow=True)
    before = browser.cookies["sessionid"].value
    enter_the_code(browser)
    assert is_signed_in(browser)
    assert browser.cookies["sessionid"].value != before
    assert SessionStore(before).load() == {}


def test_three_wrong_codes_and_the_right_one_holds_no_longer(cast):
    browser = Client()
    browser.post(reverse("account_login"), {"email": cast.coach.email}, follow=True)
    code = mailed_code()
    for _ in range(3):
        browser.post(reverse("account_confirm_login_code"), {"code": "AAAA-AAAA"})
    browser.post(reverse("account_confirm_login_code"), {"code": code})
    assert not is_signed_in(browser)


def test_a_code_holds_three_minutes_and_once(cast):
    browser = Client()
    browser.post(reverse("account_login"), {"email": cast.coach.email}, follow=True)
    code, too_late = mailed_code(), time.time() + 181
    with pytest.MonkeyPatch.context() as clock:
        clock.setattr("time.time", lambda: too_late)
        browser.post(reverse("account_confirm_login_code"), {"code": code})
    assert not is_signed_in(browser)
    browser.post(reverse("account_login"), {"email": cast.coach.email}, follow=True)
    code = mailed_code()
    browser.post(reverse("account_confirm_login_code"), {"code": code})
    assert is_signed_in(browser)
    other = Client()
    other.post(reverse("account_confirm_login_code"), {"code": code})
    assert not is_signed_in(other)


def test_signing_in_leads_to_no_other_site(cast):
    browser = Client()
    away = {"email": cast.coach.email, "next": "https://other.example/"}
    browser.post(reverse("account_login"), away, follow=True)
    answer = browser.post(
        reverse("account_confirm_login_code"),
        {"code": mailed_code(), "next": "https://other.example/"},
    )
    assert answer.headers["Location"].startswith("/")
    assert not answer.headers["Location"].startswith("//")


def test_a_database_and_the_secret_key_without_the_cookie_read_nothing(coach):
    kept = SignIn.objects.get()
    assert SessionStore(kept.key_digest).load() == {}


def test_a_new_secret_key_signs_nobody_out_while_the_former_is_named(cast, client_for, settings):
    guardian, coach = client_for(cast.guardian), client_for(cast.coach)
    SignIn.objects.update(device="Firefox on Android")
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "another", [settings.SECRET_KEY]
    assert is_signed_in(guardian)
    settings.SECRET_KEY_FALLBACKS = []
    assert is_signed_in(guardian)
    assert SignIn.objects.get(user=cast.guardian).device == "Firefox on Android"
    assert not is_signed_in(coach)  # who had not come by


def test_what_somebody_wrote_into_the_table_signs_in_nobody(cast, client_for):
    coach, guardian = client_for(cast.coach), client_for(cast.guardian)
    theirs, own = SignIn.objects.get(user=cast.coach), SignIn.objects.get(user=cast.guardian)
    SignIn.objects.filter(pk=own.pk).update(sealed=theirs.sealed)
    SignIn.objects.filter(pk=theirs.pk).update(sealed=b"\0" + bytes(theirs.sealed)[1:])
    assert not is_signed_in(guardian)
    assert not is_signed_in(coach)


def test_a_sign_in_goes_with_its_person_and_with_signing_out(cast, client_for):
    nobody, coach = client_for(cast.nobody), client_for(cast.coach)
    cast.nobody.delete()
    assert [each.user for each in SignIn.objects.all()] == [cast.coach]
    coach.post(reverse("account_logout"))
    assert not SignIn.objects.filter(user=cast.coach).exists()
    assert not is_signed_in(nobody)


def test_when_somebody_was_last_seen_is_written_once_in_ten_minutes(
    cast, client_for, later, django_assert_num_queries
):
    guardian = client_for(cast.guardian)
    first = SignIn.objects.get().last_seen_at
    for minutes, queries in ((1, 2), (9, 2), (12, 3), (13, 2), (21, 2), (23, 3)):
        later(minutes=minutes)
        with django_assert_num_queries(queries):  # the sign-in, the person and, seen, one more
            guardian.get(OWN_PAGE)
    seen = SignIn.objects.get().last_seen_at
    assert dt.timedelta(minutes=22) < seen - first < dt.timedelta(minutes=24)


def test_a_coach_who_does_nothing_for_twelve_hours_is_signed_out(coach, later):
    for hours in (11, 22, 33):
        later(hours=hours)
        assert is_signed_in(coach)
    later(hours=33 + 12, minutes=1)
    assert not is_signed_in(coach)


@pytest.mark.usefixtures("no_second_factor_needed")
def test_nobody_is_signed_in_for_longer_than_thirty_days(cast, client_for, later):
    coach, guardian = client_for(cast.coach), client_for(cast.guardian)
    for hours in range(0, 30 * 24, 11):
        later(hours=hours)
        coach.get(OWN_PAGE)
    later(days=29, hours=23)
    assert is_signed_in(guardian)
    assert is_signed_in(coach)
    later(days=30, minutes=1)
    assert not is_signed_in(guardian)
    assert not is_signed_in(coach)


def test_whoever_only_asked_for_a_code_is_kept_for_an_hour():
    SessionStore().create()
    now = timezone.now()
    assert SignIn.objects.over_at(now + dt.timedelta(minutes=59)).count() == 0
    assert SignIn.objects.over_at(now + dt.timedelta(minutes=61)).count() == 1


def test_a_restored_backup_signs_nobody_in_again(coach):
    database_restored.send_robust(sender=None, path=None)
    assert not SignIn.objects.exists()
    assert not is_signed_in(coach)


WEBKIT = "AppleWebKit/605.1.15 (KHTML, like Gecko)"
BLINK = "AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0"
ANDROID = "Mozilla/5.0 (Linux; Android 10; K)"
WINDOWS = "Mozilla/5.0 (Windows NT 10.0; Win64; x64)"
IPHONE = "Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X)"
IPAD = "Mozilla/5.0 (iPad; CPU OS 16_6 like Mac OS X)"
MAC = "Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7)"
AGENTS = {
    f"{WINDOWS} Gecko/20100101 Firefox/140.0": "Firefox on Windows",
    f"{ANDROID} {BLINK} Mobile Safari/537.36": "Chrome on Android",
    f"{ANDROID} SamsungBrowser/28.0 {BLINK} Mobile Safari/537.36": "Samsung Internet on Android",
    f"{IPHONE} {WEBKIT} Version/18.5 Mobile/15E148 Safari/604.1": "Safari on an iPhone",
    f"{IPHONE} {WEBKIT} CriOS/140.0.0.0 Mobile/15E148 Safari/604.1": "Chrome on an iPhone",
    f"{IPAD} {WEBKIT} FxiOS/140.0 Mobile/15E148 Safari/605.1.15": "Firefox on an iPad",
    f"{MAC} {WEBKIT} Version/18.5 Safari/605.1.15": "Safari on a Mac",
    f"{WINDOWS} {BLINK} Safari/537.36 Edg/140.0.0.0": "Edge on Windows",
    f"Mozilla/5.0 (X11; CrOS x86_64 14541.0.0) {BLINK} Safari/537.36": "Chrome on ChromeOS",
    "curl/8.5.0": "An unknown browser",
    "": "An unknown browser",
    "Firefox/1.0 <script>" + "x" * 5000: "Firefox",
}


def test_a_device_is_told_by_its_browser_and_system_and_no_closer():
    assert {agent: device_of(agent) for agent in AGENTS} == AGENTS


# Where one is signed in


def places(client: Client) -> str:
    return client.get(reverse("athletes:sign_ins")).content.decode()


def named(person, device: str) -> Client:
    browser = Client()
    browser.force_login(person, backend="allauth.account.auth_backends.AuthenticationBackend")
    SignIn.objects.filter(user=person, device="").update(device=device)
    SignIn.objects.filter(user=person, device=UNKNOWN).update(device=device)
    return browser


def test_somebody_sees_where_they_are_signed_in_and_signs_out_there(cast, client_for):
    here = named(cast.guardian, "Firefox on Linux")
    phone = named(cast.guardian, "Safari on an iPhone")
    strangers = client_for(cast.other_guardian)
    page = places(here)
    assert page.index("Firefox on Linux</b>, this one") < page.index("Safari on an iPhone")
    lost = SignIn.objects.get(device="Safari on an iPhone")
    address = reverse("athletes:sign_out_there", args=[lost.pk])
    assert strangers.post(address).status_code == 404
    assert is_signed_in(phone)
    here.post(address)
    assert not is_signed_in(phone)
    assert is_signed_in(here)
    assert "Nowhere else." in places(here)


def test_somebody_signs_out_everywhere_else_and_nobody_else_does(cast, client_for):
    here, *others = [client_for(cast.guardian) for _ in range(3)]
    stranger = client_for(cast.other_guardian)
    here.post(reverse("athletes:sign_out_elsewhere"))
    assert [is_signed_in(each) for each in (here, *others, stranger)] == [True, False, False, True]


def test_a_head_coach_sets_how_long_a_coach_may_do_nothing_and_it_holds_at_once(
    cast, client_for, later
):
    head, coach, guardian = map(client_for, (cast.head_coach, cast.coach, cast.guardian))
    address = reverse("athletes:access_rules")
    for wrong in ("0", "73", "", "x"):
        refused = head.post(address, access_rules(None, coach_idle_hours=wrong))
        assert refused.status_code == 422
    later(hours=3)
    is_signed_in(head)
    head.post(address, access_rules(None, coach_idle_hours="2"))
    assert [is_signed_in(each) for each in (head, coach, guardian)] == [True, False, True]
    assert "after 2 hours" in places(head)
    later(hours=5, minutes=1)
    assert not is_signed_in(head)
