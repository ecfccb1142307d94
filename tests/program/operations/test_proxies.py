"""Who a visitor is, where a proxy stands in front: only what a trusted one says is believed."""

from types import SimpleNamespace

import pytest
from django.test import Client
from django.urls import reverse

from program.config.environment import addresses
from program.operations.proxies import visitor_of

PROXY, INNER, VISITOR, STRANGER = "172.18.0.5", "172.18.0.9", "203.0.113.7", "198.51.100.66"


def trusting(said: str):
    return addresses({"TRUSTED_PROXIES": said}, "TRUSTED_PROXIES")


@pytest.mark.parametrize(
    ("trusted", "peer", "forwarded", "visitor"),
    [
        ("", PROXY, VISITOR, PROXY),  # nobody is trusted
        (PROXY, PROXY, VISITOR, VISITOR),
        ("172.16.0.0/12", PROXY, VISITOR, VISITOR),
        (PROXY, STRANGER, VISITOR, STRANGER),  # forged by who is no proxy
        (PROXY, PROXY, f"{STRANGER}, {VISITOR}", VISITOR),  # forged through the proxy
        ("172.16.0.0/12", PROXY, f"{STRANGER}, {VISITOR}, {INNER}", VISITOR),  # two proxies
        (PROXY, PROXY, f"{VISITOR}, {INNER}", INNER),  # of which one is not trusted
        (PROXY, PROXY, "", PROXY),
        (PROXY, PROXY, "rubbish", PROXY),
        (PROXY, PROXY, f"{VISITOR}, rubbish", PROXY),
        (PROXY, PROXY, f"{VISITOR}:4711", VISITOR),
        (PROXY, PROXY, "[2001:db8::7]:4711", "2001:db8::7"),
        (PROXY, f"::ffff:{PROXY}", VISITOR, VISITOR),
        ("::1", "::1", "2001:db8::7", "2001:db8::7"),
        ("unix", "", VISITOR, VISITOR),
        (PROXY, "", VISITOR, ""),
        ("172.16.0.0/12", PROXY, INNER, INNER),  # nothing but proxies: the first of them
    ],
)
def test_a_visitor_is_the_last_one_that_no_trusted_proxy_stands_for(
    trusted, peer, forwarded, visitor
):
    assert visitor_of(peer, forwarded, trusting(trusted)) == visitor


@pytest.fixture
def behind_a_proxy(settings):
    settings.TRUSTED_PROXIES = trusting(PROXY)


def is_sent_a_code(peer: str, forwarded: str, email: str) -> bool:
    """Whether somebody at a browser of their own who asks for a code gets to the page for it."""
    client = Client(REMOTE_ADDR=peer, headers={"X-Forwarded-For": forwarded})
    return client.post(reverse("account_login"), {"email": email}).status_code == 302


OFTEN = range(25)  # the limit is 20 a minute from one address


@pytest.mark.django_db
@pytest.mark.usefixtures("behind_a_proxy")
def test_one_who_asks_too_often_shuts_out_nobody_else_behind_the_same_proxy():
    stranger = [is_sent_a_code(PROXY, STRANGER, f"{n}@guessed.example") for n in OFTEN]
    assert (stranger[0], stranger[-1]) == (True, False)
    assert is_sent_a_code(PROXY, VISITOR, "parent@example.org")


@pytest.mark.django_db
@pytest.mark.usefixtures("behind_a_proxy")
@pytest.mark.parametrize("way", ["past the proxy", "through the proxy"])
def test_a_forged_address_neither_frees_a_stranger_nor_shuts_out_who_has_it(way):
    def asks(n: int, forged: str) -> bool:
        is_through = way == "through the proxy"
        forwarded = f"{forged}, {STRANGER}" if is_through else forged
        return is_sent_a_code(PROXY if is_through else STRANGER, forwarded, f"{n}@guessed.example")

    assert not [asks(n, f"203.0.113.{n}") for n in OFTEN][-1]
    assert not [asks(n, VISITOR) for n in OFTEN][-1]
    assert is_sent_a_code(PROXY, VISITOR, "parent@example.org")


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("trusted", "peer", "status"),
    [
        (PROXY, PROXY, 200),
        (PROXY, STRANGER, 301),  # whoever is no proxy cannot say that it came by https
        ("", PROXY, 200),  # as before there were trusted proxies
    ],
)
def test_that_a_request_came_by_https_is_believed_of_a_proxy(settings, trusted, peer, status):
    settings.TRUSTED_PROXIES = trusting(trusted)
    settings.SECURE_SSL_REDIRECT = True
    client = Client(REMOTE_ADDR=peer, headers={"X-Forwarded-Proto": "https"})
    assert client.get("/sign-in/").status_code == status


def test_what_is_not_believed_is_taken_away(rf, settings):
    from program.operations.proxies import know_the_visitor

    settings.TRUSTED_PROXIES = trusting(PROXY)
    request = rf.get("/", headers={"X-Forwarded-For": "1.2.3.4", "X-Forwarded-Proto": "https"})
    request.META["REMOTE_ADDR"] = STRANGER
    know_the_visitor(lambda request: SimpleNamespace())(request)
    assert request.META["REMOTE_ADDR"] == STRANGER
    assert "HTTP_X_FORWARDED_FOR" not in request.META
    assert "HTTP_X_FORWARDED_PROTO" not in request.META
