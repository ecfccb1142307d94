"""The database restarts, goes away and is held up under a running web server."""

import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor

from program.config.database import databases
from program.web.busy import NOTHING_CHANGED
from tests.program.operations.served import LOCK_TIMEOUT


def test_a_restart_of_the_database_shows_nobody_a_fault(served):
    """Every connection of the pool is broken by it, and whatever was under way is cut."""
    answers: Counter[int] = Counter()
    until = time.monotonic() + 6

    def visit() -> None:
        while time.monotonic() < until:
            answers[served.get("/week/").status] += 1

    with ThreadPoolExecutor(4) as pool:
        visitors = [pool.submit(visit) for _ in range(4)]
        time.sleep(1)
        for _ in range(2):
            served.stop_database()
            served.start_database()
            time.sleep(1)
        for each in visitors:
            each.result()
    assert answers.keys() <= {200, 503}
    assert answers[200] > answers[503]
    assert served.get("/week/").status == 200


def test_idle_connections_that_a_restart_broke_are_replaced_before_they_are_lent(served):
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda _: served.get("/week/"), range(16)))
    served.stop_database()
    served.start_database()
    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(lambda _: served.get("/week/"), range(8)))
    assert [answer.status for answer in answers] == [200] * 8


def test_while_the_database_is_away_pages_say_so_and_soon_after_they_are_there_again(served):
    served.stop_database()
    try:
        with ThreadPoolExecutor(2) as pool:
            page, ready = (pool.submit(served.get, path) for path in ("/week/", "/health/ready"))
            live = served.get("/health/live")
        away = page.result()
        assert (away.status, away.headers["Retry-After"]) == (503, "10")
        assert NOTHING_CHANGED in away.body
        assert (live.status, ready.result().status) == (200, 503)
        assert ready.result().body == '{"ready": false, "wrong": "database"}'
    finally:
        served.start_database()
    back = time.monotonic()
    while served.get("/week/").status != 200:
        assert time.monotonic() - back < 10
    assert served.get("/health/ready").status == 200


def test_one_held_row_stops_nobody_longer_than_the_limit(served):
    with served.connected() as holds, ThreadPoolExecutor(8) as pool:
        holds.execute("SELECT 1 FROM athletes_user FOR UPDATE")
        stuck = [pool.submit(served.ask, "POST", "/mail/") for _ in range(4)]
        time.sleep(0.2)
        others = [pool.submit(served.get, "/week/") for _ in range(4)]
        answers = [each.result() for each in stuck]
        assert {each.status for each in answers} == {503}
        assert all(NOTHING_CHANGED in each.body for each in answers)
        assert max(each.took for each in answers) < LOCK_TIMEOUT + 2
        assert {each.result().status for each in others} == {200}
        assert max(each.result().took for each in others) < LOCK_TIMEOUT + 2


def test_a_web_process_has_limits_and_a_command_has_none(tmp_path):
    url = "postgres://fledge@127.0.0.1/fledge"
    web = databases(
        {"DATABASE_URL": url, "FLEDGE_POOL": "1", "WEB_STATEMENT_TIMEOUT": "7"}, tmp_path
    )
    assert web["default"]["OPTIONS"]["options"] == (
        "-c lock_timeout=4s -c statement_timeout=7s -c idle_in_transaction_session_timeout=120s"
    )
    assert databases({"DATABASE_URL": url}, tmp_path)["default"]["OPTIONS"] == {}


def test_what_the_database_s_address_says_of_limits_goes_before(served, tmp_path):
    url = served.database.url() + "&options=-c%20lock_timeout%3D9s"
    web = databases({"DATABASE_URL": url, "FLEDGE_POOL": "1"}, tmp_path)
    assert web["default"]["OPTIONS"]["options"].endswith("-c lock_timeout=9s")
