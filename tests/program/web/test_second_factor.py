"""A second way to sign in: who is to have one, what it opens, and what happens when it is lost."""

import datetime as dt
import re
import time
import uuid
from types import SimpleNamespace

import pytest
from allauth.mfa.models import Authenticator
from django.core import mail
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from athletes import role_changes
from athletes.models import Invitation, SignIn, User
from athletes.second_factor import OnlyOne, remove
from program.models import ChildCopy, PainReport
from tests.support.children_pages import assert_well_made, text
from tests.support.family import WEDNESDAY, assign, give
from tests.support.second_factor import App, app_of, code_at
from tests.support.signing_in import code_entered
from tests.support.work import work_off

pytestmark = pytest.mark.django_db

SET_UP = reverse("mfa_index")
WEEK = reverse("program:week")
AGAIN = reverse("mfa_reauthenticate")
BY_MAIL = reverse("sign_in_again_by_mail")
A_WEEK = dt.timedelta(days=7)


@pytest.fixture
def in_the_second_week(cast):
    """Whoever coaches has done so for a week."""
    User.objects.update(second_factor_counts_from=timezone.now() - A_WEEK)


@pytest.fixture
def minutes_later(monkeypatch):
    """Moves on what was shown how long ago."""
    from allauth.account.internal.flows import reauthentication

    clock = reauthentication.time

    def move(minutes):
        later = SimpleNamespace(time=lambda: clock.time() + minutes * 60)
        monkeypatch.setattr(reauthentication, "time", later)

    return move


def mailed_code(browser: Client, person: User) -> None:
    """As far as the mailed code."""
    browser.post(reverse("account_login"), {"email": person.email})
    work_off()
    (code,) = re.findall(
        r"^\s*([A-Z0-9]{3,}(?:-[A-Z0-9]{3,})?)\s*$", mail.outbox[-1].body, re.MULTILINE
    )
    browser.post(reverse("account_confirm_login_code"), {"code": code})


def second(browser: Client, code: str):
    return browser.post(reverse("mfa_authenticate"), {"code": code})


def is_signed_in(browser: Client) -> bool:
    return browser.get(SET_UP).status_code == 200


def everything_stored() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT mfa_authenticator::text FROM mfa_authenticator")
        return "".join(row[0] for row in cursor.fetchall())


# Setting it up


def test_an_app_as_the_standard_has_it():
    """RFC 6238, appendix B: at 59 s the secret of its example shows 94287082, of which apps show
    the last six digits."""
    assert code_at(b"12345678901234567890", 59) == "287082"


def test_a_coach_sets_up_an_app_sees_the_recovery_codes_once_and_is_told_by_mail(cast, coach):
    page = coach.get(reverse("mfa_activate_totp")).content.decode()
    assert "<svg" in page
    app = App(re.search(r'<p class="secret">([A-Z2-7]{32})</p>', page)[1])
    answer = coach.post(reverse("mfa_activate_totp"), {"code": app.code()})
    codes_page = reverse("mfa_view_recovery_codes")
    assert answer.headers["Location"] == codes_page
    shown = coach.get(codes_page)
    assert shown.headers["Cache-Control"] == "private, no-store"
    codes = re.findall(r"<li>(\d{8})</li>", shown.content.decode())
    assert len(set(codes)) == 10
    assert not re.findall(r"<li>\d{8}</li>", coach.get(codes_page).content.decode())
    work_off()
    assert mail.outbox[-1].to == [cast.coach.email]
    assert "An app that shows codes was added" in mail.outbox[-1].body
    stored = everything_stored()
    assert not any(secret in stored for secret in (app.secret, *codes))


def test_a_wrong_code_sets_nothing_up(coach):
    coach.get(reverse("mfa_activate_totp"))
    answer = coach.post(reverse("mfa_activate_totp"), {"code": "123456"})
    assert "That did not fit" in text(answer)
    assert not Authenticator.objects.exists()


# Signing in


def test_whoever_has_an_app_signs_in_with_both_codes_and_with_neither_alone(cast, client):
    app = app_of(cast.coach)
    mailed_code(client, cast.coach)
    assert not is_signed_in(client)
    assert "That did not fit" in text(second(client, App("A" * 32).code()))
    assert not is_signed_in(client)
    second(client, app.code())
    assert is_signed_in(client)


def test_a_code_is_good_for_half_a_minute_more_or_less_and_once(cast):
    app = app_of(cast.coach)
    browsers = [Client() for _ in range(4)]
    for browser in browsers[:3]:
        mailed_code(browser, cast.coach)
    early, again, old = browsers[:3]
    code = app.code(-1)
    second(early, code)
    assert is_signed_in(early)
    # Allauth itself forgets after half a minute that it was used.
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM program_cache WHERE cache_key LIKE '%allauth.mfa.totp.used%'")
        assert cursor.rowcount == 1
    second(again, code)
    assert not is_signed_in(again)
    second(old, app.code(-2))
    assert not is_signed_in(old)


def test_each_recovery_code_signs_in_once(cast):
    app_of(cast.coach)
    codes = Authenticator.objects.get(type="recovery_codes").wrap().generate_codes()
    for code, opens in ((codes[0], True), (codes[0], False), (codes[1], True)):
        browser = Client()
        mailed_code(browser, cast.coach)
        second(browser, code)
        assert is_signed_in(browser) == opens


def test_after_five_wrong_codes_the_right_one_is_refused_for_a_while(cast, client):
    app = app_of(cast.coach)
    mailed_code(client, cast.coach)
    for _ in range(5):
        second(client, App("A" * 32).code())
    answer = second(client, app.code())
    assert "Too many wrong codes. Wait five minutes" in text(answer)
    assert not is_signed_in(client)


def test_with_another_secret_key_no_code_fits_until_the_former_is_named(cast, client, settings):
    app = app_of(cast.coach)
    former, settings.SECRET_KEY = settings.SECRET_KEY, "another"
    mailed_code(client, cast.coach)
    second(client, app.code())
    assert not is_signed_in(client)
    settings.SECRET_KEY_FALLBACKS = [former]
    second(client, app.code())
    assert is_signed_in(client)


# Who is to have one


def test_in_the_first_week_a_coach_reads_until_when(cast, coach):
    page = text(coach.get(WEEK))
    day = timezone.localtime(cast.coach.second_factor_counts_from + A_WEEK)
    assert f"coaches need one from {day:%A} {day.day} {day:%B}, {day:%H:%M} on" in page
    app_of(cast.coach)
    assert "coaches need one" not in text(coach.get(WEEK))


@pytest.mark.usefixtures("in_the_second_week")
def test_in_the_second_week_a_coach_without_one_is_led_there_whatever_is_asked_for(
    cast, client_for
):
    for person in (cast.coach, cast.head_coach):
        coach = client_for(person)
        child = reverse("athletes:child", args=[cast.child.public_id])
        for address in (reverse("program:home"), WEEK, child, reverse("athletes:mail_setting")):
            assert coach.get(address).headers["Location"] == SET_UP, address
        assert "Set one up now" in text(coach.get(SET_UP))
        for name in ("mfa_activate_totp", "mfa_add_webauthn"):
            assert coach.get(reverse(name)).status_code == 200
        app_of(person)
        assert coach.get(WEEK).status_code == 200


@pytest.mark.usefixtures("in_the_second_week")
def test_what_a_coach_had_typed_is_given_back(cast, coach):
    address = reverse("athletes:growing", args=[cast.child.public_id])
    said = {"why": "Two <b>tall</b> parents."}
    answer = coach.post(address, said)
    assert answer.status_code == 403
    assert "Two &lt;b&gt;tall&lt;/b&gt; parents." in answer.content.decode()
    part = coach.post(address, said, headers={"HX-Request": "true"})
    assert (part.status_code, part.headers["Content-Type"]) == (403, "text/plain")
    assert "What you typed is still here" in part.content.decode()


@pytest.mark.usefixtures("in_the_second_week")
def test_a_coach_without_one_can_sign_out(coach):
    coach.post(reverse("account_logout"))
    assert coach.get(SET_UP).headers["Location"].startswith(reverse("account_login"))


@pytest.mark.usefixtures("in_the_second_week")
def test_no_family_needs_one(cast, client_for):
    for person in (cast.guardian, cast.athlete):
        assert client_for(person).get(reverse("program:family")).status_code in {200, 302}
        page = text(client_for(person).get(SET_UP))
        assert "Coaches need" not in page


@pytest.mark.usefixtures("in_the_second_week")
def test_the_demo_asks_nobody(coach, settings):
    settings.COACHES_NEED_SECOND_FACTOR = False
    assert coach.get(WEEK).status_code == 200
    assert "Coaches " not in text(coach.get(SET_UP))


@pytest.mark.usefixtures("in_the_second_week")
def test_whether_a_coach_has_one_is_asked_once_in_a_session(cast, coach):
    app_of(cast.coach)
    coach.get(WEEK)
    with CaptureQueriesContext(
        connection,
    ) as asked:
        coach.get(WEEK)
    assert not [each for each in asked.captured_queries if "mfa_authenticator" in each["sql"]]


# Shown again


def invite(browser: Client, child, email="gran@example.org"):
    address = reverse("athletes:invite_family", args=[child.public_id])
    return browser.post(address, {"email": email, "role": "guardian"})


def test_it_is_shown_again_before_an_invitation_which_then_goes_as_it_was_typed(
    cast, coach, minutes_later
):
    app = app_of(cast.coach)
    asked = invite(coach, cast.child)
    assert asked.headers["Location"].startswith(AGAIN)
    assert not Invitation.objects.exists()
    wrong = coach.post(asked.headers["Location"], {"code": App("A" * 32).code()})
    assert "That did not fit" in text(wrong)
    assert not Invitation.objects.exists()
    coach.post(asked.headers["Location"], {"code": app.code()})
    assert Invitation.objects.get().email == "gran@example.org"
    minutes_later(9)
    invite(coach, cast.child, "aunt@example.org")
    assert Invitation.objects.count() == 2
    minutes_later(11)
    assert invite(coach, cast.child).headers["Location"].startswith(AGAIN)
    assert Invitation.objects.count() == 2


def test_whoever_signed_in_with_it_a_moment_ago_is_not_asked(cast, client):
    app = app_of(cast.coach)
    mailed_code(client, cast.coach)
    second(client, app.code())
    invite(client, cast.child)
    assert Invitation.objects.count() == 1


def test_it_is_shown_again_before_taking_data_out_and_erasing(cast, client_for):
    app_of(cast.head_coach)
    app_of(cast.guardian)
    child = cast.child.public_id
    for person, name, ids in (
        (cast.head_coach, "athletes:invite_coach", ()),
        (cast.head_coach, "program:ask_for_copy", (child,)),
        (cast.head_coach, "program:fetch_copy", (child, child)),
        (cast.head_coach, "program:ask_to_erase", (child,)),
        (cast.head_coach, "program:erasure", (child,)),
        (cast.head_coach, "athletes:reset_second_factor", (cast.guardian.pk,)),
        (cast.guardian, "program:ask_for_copy", (child,)),
        (cast.guardian, "program:ask_to_erase", (child,)),
        (cast.guardian, "program:invite_guardian", (child,)),
    ):
        answer = client_for(person).post(reverse(name, args=ids), {})
        assert answer.headers.get("Location", "").startswith(AGAIN), (person, name)


# A first week without one


def an_hour_ago(browser: Client, person: User) -> None:
    code_entered(browser, person, time.time() - 3600)


def code_in_the_last_mail() -> str:
    work_off()
    (code,) = re.findall(
        r"^\s*([A-Z0-9]{3,}(?:-[A-Z0-9]{3,})?)\s*$", mail.outbox[-1].body, re.MULTILINE
    )
    return code


def test_a_coach_without_one_enters_a_mailed_code_again_and_it_goes_as_it_was_typed(cast, coach):
    an_hour_ago(coach, cast.coach)
    asked = invite(coach, cast.child)
    page = asked.headers["Location"]
    assert page.startswith(BY_MAIL)
    assert not mail.outbox, "looking at a page mails nothing"
    assert_well_made(coach.get(page))
    coach.post(page, {"do": "send"})
    wrong = coach.post(page, {"code": "AAAA-AAAA"})
    assert "That did not fit" in text(wrong)
    assert not Invitation.objects.exists()
    coach.post(page, {"code": code_in_the_last_mail()})
    assert Invitation.objects.get().email == "gran@example.org"
    invite(coach, cast.child, "aunt@example.org")
    assert Invitation.objects.count() == 2, "and not asked again within ten minutes"


def test_that_code_holds_three_tries_three_minutes_once_and_for_this_browser(
    cast, client_for, monkeypatch
):
    coach, elsewhere = client_for(cast.coach), client_for(cast.coach)
    for browser in (coach, elsewhere):
        an_hour_ago(browser, cast.coach)
    page = invite(coach, cast.child).headers["Location"]
    invite(elsewhere, cast.child)
    coach.post(page, {"do": "send"})
    code = code_in_the_last_mail()
    elsewhere.post(page, {"code": code})
    for _ in range(3):
        coach.post(page, {"code": "AAAA-AAAA"})
    coach.post(page, {"code": code})
    assert not Invitation.objects.exists(), "after three tries, or elsewhere"
    coach.post(page, {"do": "send"})
    code, late = code_in_the_last_mail(), time.time() + 181
    monkeypatch.setattr("program.web.second_factor.mailed_code.time.time", lambda: late)
    coach.post(page, {"code": code})
    assert not Invitation.objects.exists(), "after three minutes"


def test_setting_the_first_one_up_wants_a_mailed_code_too(cast, coach):
    an_hour_ago(coach, cast.coach)
    asked = coach.post(reverse("mfa_activate_totp"), {"code": "123456"})
    assert asked.headers["Location"].startswith(BY_MAIL)


def test_whoever_is_of_a_family_and_has_none_is_not_asked(cast, client_for):
    family = client_for(cast.guardian)
    code_entered(family, cast.guardian, time.time() - 3600)
    family.post(reverse("program:ask_for_copy", args=[cast.child.public_id]))
    assert ChildCopy.objects.exists()
    assert family.get(BY_MAIL).status_code == 404


# From when on


def test_who_coaches_from_today_on_has_a_week_whatever_their_account_is_old(cast, client_for):
    long_ago = timezone.now() - 100 * A_WEEK
    User.objects.update(created_at=long_ago, second_factor_counts_from=long_ago)
    second_head = User.objects.create_user("b@x.example", name="Second", role="head_coach")
    now = timezone.now()
    change = role_changes.ask(cast.nobody, "coach", cast.head_coach, now, "https://a.example")
    role_changes.agree(change, second_head, now, "https://a.example")
    assert client_for(cast.nobody).get(WEEK).status_code == 200
    assert client_for(cast.coach).get(WEEK).headers["Location"] == SET_UP


# What goes on being taken


@pytest.mark.usefixtures("evening", "in_the_second_week")
def test_what_hurts_and_what_is_to_be_spared_is_taken_from_a_coach_without_one(cast, client_for):
    """From a phone, by the log's form, by the group's, and as a restriction."""
    session = assign(cast.child)
    give(session, "Sit to stand")
    ids = [cast.child.public_id, session.public_id]
    coach, line = client_for(cast.coach), cast.child.public_id
    sent = {"id": str(uuid.uuid4()), "kind": "pain", "child": str(ids[0]), "session": str(ids[1])}
    hurt = {"hurt": "yes", "hurt_region": "knee", "hurt_side": "left", "hurt_level": "4"}
    coach.post(
        reverse("program:inbox"),
        sent | {"fields": hurt | {"hurt_id": str(uuid.uuid4())}},
        content_type="application/json",
    )
    coach.post(
        reverse("program:log", args=ids),
        hurt | {"hurt_region": "hip_groin", "hurt_id": uuid.uuid4()},
    )
    of_the_group = hurt | {"hurt_region": "elbow", "hurt_id": uuid.uuid4(), "presence": "there"}
    group = reverse("program:group_log", args=[session.session_id])
    coach.post(group, {f"{line}-{name}": said for name, said in of_the_group.items()})
    assert {each.region for each in PainReport.objects.all()} == {"knee", "hip_groin", "elbow"}
    days = {"start": WEDNESDAY, "until": WEDNESDAY}
    coach.post(
        reverse("athletes:restrictions", args=ids[:1]),
        {"region": "ankle", "side": "left", "kind": "no_landing"} | days,
    )
    assert cast.child.restrictions.get().region == "ankle"
    for name, of in (("program:log", ids), ("program:group_log", [session.session_id])):
        assert coach.get(reverse(name, args=of)).headers["Location"] == SET_UP


# Without it


def test_a_coachs_only_one_stays_and_a_familys_goes_with_its_recovery_codes(cast):
    for person in (cast.coach, cast.guardian):
        app_of(person)
    with pytest.raises(OnlyOne):
        remove(cast.coach, Authenticator.objects.get(user=cast.coach, type="totp"))
    assert Authenticator.objects.filter(user=cast.coach).count() == 2
    remove(cast.guardian, Authenticator.objects.get(user=cast.guardian, type="totp"))
    assert not Authenticator.objects.filter(user=cast.guardian).exists()
    work_off()
    (told,) = mail.outbox
    assert (told.to, "was removed" in told.body) == ([cast.guardian.email], True)


def test_nobody_removes_another_persons(cast, coach):
    app = app_of(cast.guardian)
    assert coach.post(reverse("remove_second_factor", args=[app.key])).status_code == 404


def test_new_recovery_codes_end_the_former(cast, coach):
    app = app_of(cast.coach)
    former = Authenticator.objects.get(type="recovery_codes").wrap().generate_codes()
    address = reverse("mfa_generate_recovery_codes")
    asked = coach.get(address)
    coach.post(asked.headers["Location"], {"code": app.code()})
    assert coach.post(address).headers["Location"] == reverse("mfa_view_recovery_codes")
    codes = Authenticator.objects.get(type="recovery_codes").wrap().generate_codes()
    assert not set(codes) & set(former)


def reset_as(browser: Client, person: User):
    return browser.post(reverse("athletes:reset_second_factor", args=[person.pk]))


def test_a_head_coach_resets_another_persons_who_is_signed_out_and_told(cast, client_for):
    for person in (cast.coach, cast.guardian):
        app_of(person)
        theirs, head = client_for(person), client_for(cast.head_coach)
        reset_as(head, person)
        assert not Authenticator.objects.filter(user=person).exists()
        assert not SignIn.objects.filter(user=person).exists()
        assert not is_signed_in(theirs)
        work_off()
        assert mail.outbox[-1].to == [person.email]
        assert "signed out everywhere" in mail.outbox[-1].body


def test_a_head_coach_finds_whose_of_a_family_can_be_reset_on_the_childs_page(cast, client_for):
    for person in (cast.guardian, cast.athlete):
        app_of(person)
    page = reverse("athletes:child", args=[cast.child.public_id])
    addresses = {
        f'"{reverse("athletes:reset_second_factor", args=[person.pk])}"'
        for person in (cast.guardian, cast.athlete)
    }
    for person, finds in ((cast.head_coach, addresses), (cast.coach, set())):
        html = client_for(person).get(page).content.decode()
        assert {address for address in addresses if address in html} == finds


def test_a_head_coachs_own_is_reset_by_another_head_coach_or_on_the_server_alone(
    cast, client_for, capsys
):
    app_of(cast.head_coach)
    for person in (cast.coach, cast.guardian, cast.head_coach):
        assert reset_as(client_for(person), cast.head_coach).status_code in {302, 404}
        assert Authenticator.objects.filter(user=cast.head_coach).exists()
    call_command("reset_second_factor", cast.head_coach.email.upper())
    assert "was told" in capsys.readouterr().out
    assert not Authenticator.objects.exists()
    with pytest.raises(CommandError):
        call_command("reset_second_factor", "nobody@example.org")
