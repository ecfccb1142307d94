"""What leaves the program: sheets of paper, and calendars."""

import datetime as dt

import html5lib
import icalendar
import pytest
from django.db import connection
from django.urls import reverse

from athletes.models import Restriction
from library.models import Exercise
from program.family.printed_sheet import Sheet
from program.models import AssignedSession, CalendarFeed, TakenOutSession
from tests.support.factories import SlotFactory
from tests.support.family import EVENING, STOP_RULES, WEDNESDAY, assign, give, text

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]


@pytest.fixture
def session(cast):
    session = assign(cast.child, seconds=1320, published_at=EVENING - dt.timedelta(days=2))
    give(
        session,
        "Slow step down",
        rounds=3,
        revision__sides="each",
        revision__watch=True,
        note="Elbows in, Mira.",
    )
    hold = {"revision__measure": "seconds", "revision__tempo": "", "amount": 20}
    give(session, "Front plank", place=1, rounds=2, revision__caution="Ribs stay down.", **hold)
    return session


# ---- paper


def test_there_is_a_box_for_every_round_and_side(session):
    full = AssignedSession.objects.with_slots().get(pk=session.pk)
    lines = Sheet(full, "https://fledge.example/x").parts[0].lines
    assert [line.rounds for line in lines] == [(("left", "right"),) * 3, (("",),) * 2]


def test_a_sheet_says_what_to_do_and_what_to_mind(cast, client_for, session):
    Exercise.objects.get(current__name="Front plank").notes.create(
        text="A towel under the elbows.", kept_at=EVENING, kept_by_name="Owning Coach"
    )
    address = reverse("program:sheet", args=[cast.child.public_id, session.public_id])
    answer = client_for(cast.guardian).get(address)
    page = text(answer)
    assert "A towel under the elbows." in page
    for words in ["Mira: Strong steps", "22 minutes", "A grown-up watches", "Ribs stay down."]:
        assert words in page
    assert "Stop if anything hurts." in page
    assert STOP_RULES in page
    assert "Set up: A chair with its back to the wall." in page
    assert "Elbows in, Mira." in page
    html5lib.HTMLParser(strict=False).parse(answer.content)
    assert answer.content.count(b'class="paper-box"') == 3 * 2 + 2 + 2


def test_the_code_leads_to_the_sessions_page_which_asks_for_sign_in(
    cast, client, client_for, session, monkeypatch
):
    coded = []
    make = Sheet.code.func
    monkeypatch.setattr(
        "program.family.printed_sheet.segno.make",
        lambda link, error: coded.append(link) or _Drawn(),
    )
    assert make(Sheet(session, "https://fledge.example/family/")) == "<svg></svg>"
    address = reverse("program:sheet", args=[cast.child.public_id, session.public_id])
    client_for(cast.guardian).get(address)
    day = reverse("program:session_day", args=[cast.child.public_id, session.public_id])
    assert coded[1] == f"http://testserver{day}"
    assert client.get(day).headers["Location"].startswith(reverse("account_login"))


class _Drawn:
    def svg_inline(self, **_):
        return "<svg></svg>"


def test_paper_leads_back_to_the_session_on_the_screen_and_not_in_print(cast, client_for, session):
    of_child = [cast.child.public_id, session.public_id]
    for who, sheet, back in [
        (
            cast.guardian,
            reverse("program:sheet", args=of_child),
            reverse("program:session_day", args=of_child),
        ),
        (
            cast.coach,
            reverse("program:sheets", args=[session.session_id]),
            reverse("program:build", args=[session.session_id]),
        ),
    ]:
        page = html5lib.parse(client_for(who).get(sheet).content, namespaceHTMLElements=False)
        head = page.find(".//main/div[@class='screen-only']")
        assert [link.get("href") for link in head.iter("a")] == [back]
        assert not [link for paper in page.iter("article") for link in paper.iter("a")]


def test_a_cohort_has_a_sheet_for_every_child_and_the_same_queries(
    cast, client_for, session, django_assert_max_num_queries
):
    address = reverse("program:sheets", args=[session.session_id])
    client = client_for(cast.coach)
    with django_assert_max_num_queries(30) as one:
        assert client.get(address).content.count(b'<article class="paper">') == 1
    from tests.support.factories import AssignedSessionFactory, ChildFactory

    for name in ["Ada", "Zoe"]:
        child = ChildFactory(given_name=name, cohort=cast.cohort)
        give(AssignedSessionFactory(session=session.session, child=child), f"Hop of {name}")
    with django_assert_max_num_queries(len(one)):
        page = client.get(address).content.decode()
    assert page.index("Ada:") < page.index("Mira:") < page.index("Zoe:")


@pytest.mark.parametrize("who", ["other_guardian", "other_coach", "nobody"])
def test_a_stranger_has_no_sheet(cast, client_for, session, who):
    client = client_for(getattr(cast, who))
    address = reverse("program:sheet", args=[cast.child.public_id, session.public_id])
    assert client.get(address).status_code == 404
    assert client.get(reverse("program:sheets", args=[session.session_id])).status_code == 404


# ---- calendar


@pytest.fixture
def feed(cast, client_for, client):
    """What a calendar reads at the guardian's address, as events by their id."""
    client_for(cast.guardian).post(reverse("program:calendar_address"), {"act": "make"})
    key = CalendarFeed.objects.get().key

    def read():
        answer = client.get(reverse("program:calendar", args=[key]))
        assert answer.status_code == 200
        assert answer["Content-Type"] == "text/calendar; charset=utf-8"
        calendar = icalendar.Calendar.from_ical(answer.content)
        return {str(event["uid"]): event for event in calendar.walk("VEVENT")}

    return read


def test_the_address_of_a_calendar_is_stored_nowhere_in_clear_and_shown_again(
    cast, client_for, feed, settings
):
    kept, guardian = CalendarFeed.objects.get(), client_for(cast.guardian)
    with connection.cursor() as cursor:
        cursor.execute("SELECT encode(sealed_key, 'hex') || f::text FROM program_calendarfeed f")
        (row,) = cursor.fetchone()
    assert str(kept.key) not in row
    assert kept.key.hex not in row
    page = reverse("program:calendar_address")
    assert str(kept.key) in guardian.get(page).content.decode()

    settings.SECRET_KEY = "another, and nobody knows the one before"
    shown = client_for(cast.guardian).get(page).content.decode()
    assert ".ics" not in shown
    assert "can no longer be shown" in shown
    assert feed() == {}  # and yet calendars that have the address go on reading it


def test_a_session_is_a_day_in_the_calendar_and_nobody_elses_is(cast, session, feed):
    assign(cast.other_child)
    events = feed()
    assert list(events) == [f"{session.public_id}@fledge"]
    event = events[f"{session.public_id}@fledge"]
    assert str(event["summary"]) == "Mira: Strong steps"
    assert (event.decoded("dtstart"), event.decoded("dtend")) == (
        WEDNESDAY,
        WEDNESDAY + dt.timedelta(days=1),
    )


def test_nothing_about_health_is_in_it(cast, client, session, feed):
    Restriction.objects.create(
        child=cast.child,
        region="wrist_hand",
        side="left",
        kind="no_loading",
        start=WEDNESDAY,
        until=WEDNESDAY + dt.timedelta(days=7),
    )
    session.note = "Spare the wrist."
    session.save()
    feed()
    answer = client.get(reverse("program:calendar", args=[CalendarFeed.objects.get().key]))
    assert b"wrist" not in answer.content.lower()


def test_published_anew_it_is_the_same_event_with_a_higher_sequence(cast, session, feed):
    uid = f"{session.public_id}@fledge"
    before = feed()[uid]
    session.delete()
    SlotFactory(part__session=session.session)
    AssignedSession.objects.create(
        public_id=session.public_id,
        session=session.session,
        child=cast.child,
        name="Strong steps, longer",
        date=session.date + dt.timedelta(days=1),
        place="home",
        seconds=1500,
        published_at=session.published_at + dt.timedelta(hours=1),
        fingerprint="new",
    )
    after = feed()
    assert list(after) == [uid]
    assert after[uid]["sequence"] > before["sequence"]
    assert "status" not in after[uid]


def test_taken_out_it_is_cancelled_and_a_child_deleted_leaves_nothing(cast, session, feed):
    uid = f"{session.public_id}@fledge"
    sequence = feed()[uid]["sequence"]
    AssignedSession.objects.filter(pk=session.pk).delete()
    event = feed()[uid]
    assert str(event["status"]) == "CANCELLED"
    assert event["sequence"] > sequence
    assign(cast.child)
    cast.child.delete()
    assert feed() == {}
    assert not TakenOutSession.objects.exists()


def test_an_address_changed_or_taken_back_stops_working(cast, client, client_for, session, feed):
    own = client_for(cast.guardian)
    old = reverse("program:calendar", args=[CalendarFeed.objects.get().key])
    own.post(reverse("program:calendar_address"), {"act": "change"})
    new = reverse("program:calendar", args=[CalendarFeed.objects.get().key])
    assert (client.get(old).status_code, client.get(new).status_code) == (404, 200)
    assert new in own.get(reverse("program:calendar_address")).content.decode()
    own.post(reverse("program:calendar_address"), {"act": "take back"})
    assert client.get(new).status_code == 404


def test_a_guardian_no_longer_active_has_no_feed(cast, client, session, feed):
    key = CalendarFeed.objects.get().key
    cast.guardian.is_active = False
    cast.guardian.save()
    assert client.get(reverse("program:calendar", args=[key])).status_code == 404
