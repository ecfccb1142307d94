import datetime as dt
import uuid

import html5lib
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from program.log.logbook import LogEntry, SlotEntry, write_log
from program.models import AssignedSession, PainReport
from program.review.logged_sessions import Pain
from tests.support.factories import AssignedSessionFactory, ChildFactory, CohortFactory
from tests.support.family import EVENING, WEDNESDAY, assign, give, text
from tests.support.pain import knee, report
from tests.support.planning import MOST_QUERIES_ABOUT_CHILDREN, WRITES_WHO_LOOKED

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]

REVIEW, SESSION = "program:came_back", "program:came_back_of"
MONDAY = WEDNESDAY - dt.timedelta(days=2)


def log(session, by, hours_ago=0, pain=None, **said):
    session = AssignedSession.objects.get(pk=session.pk)
    entry = LogEntry(**({"state": "done"} | said))
    now = EVENING - dt.timedelta(hours=hours_ago)
    if pain:
        report(session, pain, by, now)
    write_log(session, entry, by=by, now=now, seen=session.mark)


def hurt(session, by, hours_ago=0, **details) -> PainReport:
    return report(session, knee(**details), by, EVENING - dt.timedelta(hours=hours_ago))


def review(client, **query) -> str:
    return text(client.get(reverse(REVIEW), query))


@pytest.mark.parametrize(("earlier", "nth"), [(0, "1st"), (2, "3rd"), (10, "11th"), (20, "21st")])
def test_reports_of_one_place_are_counted_as_one_counts_in_english(earlier, nth):
    report = PainReport(region="knee")
    report.earlier = earlier
    assert Pain(report).how_often == f"{nth} report about the knee in twelve weeks."


def of(child) -> str:
    return reverse("program:child_review", args=[child.public_id])


def test_what_came_back_stands_newest_first_with_all_that_was_told(cast, client_for):
    monday = assign(cast.child, MONDAY, name="Springs")
    wednesday = assign(cast.child, name="Strong steps")
    log(monday, cast.guardian, hours_ago=1, state="some", effort=6, enjoyment=4, minutes=18)
    log(wednesday, cast.guardian, hours_ago=2, note="Giggles")
    read = review(client_for(cast.coach))
    assert read.index("Springs, Monday 2 November") < read.index("Strong steps, Wednesday")
    assert "some of it Effort 6 of 10 (puffing a bit), enjoyment 4 of 5, 18 min." in read
    assert "“Giggles” No effort logged. Logged by Own Parent, Wednesday 4 November, 16:30" in read


def test_an_edited_log_comes_back_on_top_and_says_who_changed_it(cast, client_for):
    monday, wednesday = assign(cast.child, MONDAY, name="Springs"), assign(cast.child)
    log(monday, cast.guardian, hours_ago=3)
    log(wednesday, cast.guardian, hours_ago=2)
    log(monday, cast.athlete, hours_ago=1, effort=3)
    read = review(client_for(cast.coach))
    assert read.index("Springs, Monday") < read.index("Strong steps, Wednesday")
    assert "changed by Young Athlete, Wednesday 4 November, 17:30" in read


def test_what_nobody_logged_is_named_child_by_child(cast, client_for):
    for days in (1, 7, 8):
        assign(cast.child, WEDNESDAY - dt.timedelta(days=days), name=f"{days} days ago")
    assign(cast.child, name="Today")
    read = review(client_for(cast.coach))
    quiet = read[read.index("Not logged in the last seven days") :]
    assert "7 days ago, Wednesday 28 October" in quiet
    assert "1 days ago, Tuesday 3 November" in quiet
    assert "8 days ago" not in quiet
    assert "Today" not in quiet


def test_of_one_session_every_child_stands_with_what_came_back_or_as_not_logged(cast, client_for):
    friend = ChildFactory(cohort=cast.cohort, given_name="Juna")
    mine = assign(cast.child, name="Springs")
    AssignedSessionFactory(session=mine.session, child=friend, name="Springs", date=WEDNESDAY)
    log(mine, cast.guardian)
    log(assign(friend, MONDAY, name="Strong steps"), cast.head_coach)
    read = text(client_for(cast.coach).get(reverse(SESSION, args=[mine.session_id])))
    silent, logged = read[read.index("Not logged") :].split("Logged, the newest first")
    assert "Springs, Wednesday 4 November" in read
    assert "Mira T." in logged
    assert "Juna" not in logged
    assert "Juna" in silent  # on the day itself already: the coach may want to ask her
    assert "Strong steps" not in read


def test_nobody_is_called_silent_about_a_session_still_to_come(cast, client_for):
    tomorrow = assign(cast.child, WEDNESDAY + dt.timedelta(days=1))
    read = text(client_for(cast.coach).get(reverse(SESSION, args=[tomorrow.session_id])))
    assert "Nothing logged yet" in read
    assert "Mira" not in read


def test_nothing_back_yet_says_so(cast, client_for):
    assert "Nothing logged yet" in review(client_for(cast.coach))


def test_a_coach_sees_what_came_back_from_own_children_only(cast, client_for):
    for child, name in ((cast.child, "Mine"), (cast.other_child, "Theirs")):
        session = assign(child, name=name)
        log(session, cast.head_coach)
        hurt(session, cast.head_coach)
        assign(child, MONDAY, name=f"{name} not logged")
    read = review(client_for(cast.coach))
    assert "Mine" in read
    assert "Ivo" not in read
    assert "Theirs" not in read
    assert "Theirs" in review(client_for(cast.head_coach))


def test_one_child_is_read_newest_first_with_what_was_asked_and_done(cast, client_for):
    monday = assign(cast.child, MONDAY, name="Springs")
    easier = give(assign(cast.other_child), "Step down from a book").revision
    step = give(
        monday,
        "Slow step down",
        rounds=3,
        outcome="easier",
        revision__sides="each",
        easier_revision=easier,
        easier_amount=6,
    )
    give(monday, "Sit to stand", place=1, rounds=1)
    told = SlotEntry(step, "some", amount_left=8, amount_right=6, took_easier=True)
    log(monday, cast.guardian, effort=6, results=(told,))
    hurt(monday, cast.guardian, slot=step)
    assign(cast.child, name="Strong steps")
    read = text(client_for(cast.coach).get(of(cast.child)))
    assert read.index("Strong steps") < read.index("Springs", read.index("the newest first"))
    assert "11 years" in read
    assert "2 exercises assigned, 1 logged one by one" in read
    assert "Left knee, 4 of 10, on Slow step down" in read
    assert "Published, still to come." in read
    address = reverse("program:session_review", args=[cast.child.public_id, monday.public_id])
    read = text(client_for(cast.coach).get(address))
    asked = "Slow step down easier 3 × 8 each side, 3 s down, 1 s still, 1 s up"
    did = "some of it, 8 left, 6 right, took the easier Step down from a book"
    assert f"{asked} {did}" in read
    assert "Sit to stand 1 × 8 times, 3 s down, 1 s still, 1 s up –" in read
    assert "Left knee, 4 of 10, on Slow step down" in read


def test_only_a_coach_of_the_child_reviews_it(cast, client_for):
    for person in (cast.coach, cast.head_coach):
        assert client_for(person).get(of(cast.child)).status_code == 200
    for person in (cast.other_coach, cast.guardian, cast.athlete, cast.nobody):
        assert client_for(person).get(of(cast.child)).status_code == 404
        missing = reverse("program:child_review", args=[uuid.uuid4()])
        assert client_for(person).get(missing).status_code == 404


def test_the_list_goes_on_page_by_page(cast, client_for):
    for n in range(31):
        log(assign(cast.child, name=f"Session {n}"), cast.guardian, hours_ago=n)
    coach = client_for(cast.coach)
    page = coach.get(reverse(REVIEW))
    assert "?page=2" in page.content.decode()
    assert "Session 30" not in text(page)
    assert "Session 30" in review(coach, page=2)


def test_review_pages_are_valid_html_with_one_heading(cast, client_for):
    CohortFactory(coached_by=[cast.coach])
    session = assign(cast.child)
    slot = give(session, "Sit to stand")
    log(session, cast.guardian, results=(SlotEntry(slot, "done", amount=8),), effort=4)
    hurt(session, cast.guardian)
    hurt(session, cast.guardian, region="foot")
    assign(cast.child, MONDAY)
    for address in (reverse(REVIEW), of(cast.child)):
        body = client_for(cast.coach).get(address).content
        tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(body)
        ids = [element.get("id") for element in tree.iter() if element.get("id")]
        assert len(ids) == len(set(ids))
        assert len(list(tree.iter("h1"))) == len(list(tree.iter("main"))) == 1


def test_review_pages_cost_the_same_queries_at_two_sizes(
    cast, client_for, django_assert_max_num_queries
):
    counts = []
    for children, sessions, slots in ((1, 1, 1), (6, 3, 4)):
        for n in range(children):
            kid = ChildFactory(given_name=f"Kid{children}{n}", cohort=cast.cohort)
            for m in range(sessions):
                fill(assign(kid, MONDAY, name=f"S{m}"), slots, cast)
                assign(kid, MONDAY, name=f"Quiet {m}")
        coach = client_for(cast.coach)
        asked = []
        coach.get(of(kid))  # reads this edition of the library
        for address in (reverse(REVIEW), of(kid)):
            with django_assert_max_num_queries(
                MOST_QUERIES_ABOUT_CHILDREN + WRITES_WHO_LOOKED
            ) as queries:
                assert coach.get(address).status_code == 200
            asked.append(len(queries))
        counts.append(asked)
    assert counts[0] == counts[1]


def test_one_sessions_page_costs_the_same_queries_for_a_child_and_for_a_dozen(
    cast, client_for, django_assert_num_queries
):
    first = assign(cast.child, name="Springs")
    coach, address = client_for(cast.coach), reverse(SESSION, args=[first.session_id])
    fill(first, 1, cast)
    with CaptureQueriesContext(connection) as few:
        coach.get(address)
    for n in range(12):
        kid = ChildFactory(given_name=f"Kid{n}", cohort=cast.cohort)
        theirs = AssignedSessionFactory(session=first.session, child=kid, date=WEDNESDAY)
        if n % 2:
            fill(theirs, 3, cast)
    with django_assert_num_queries(len(few)):
        coach.get(address)


def fill(session, slots, cast):
    given = [give(session, f"Exercise {n}", place=n) for n in range(slots)]
    told = tuple(SlotEntry(slot, "some", amount=5) for slot in given)
    log(session, cast.guardian, results=told, effort=5)
    for slot in given:
        hurt(session, cast.guardian, slot=slot)
