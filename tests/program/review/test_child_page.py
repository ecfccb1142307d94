"""One child's page: the way travelled, growth, pain, questions, pages. It is Wednesday evening."""

import datetime as dt
import re
from decimal import Decimal

import pytest
from django.db import connection
from django.urls import reverse

from athletes.changes import set_growing_fast
from athletes.models import DifferentWeek
from athletes.sport_elsewhere import UsualSport, say_usual, say_week
from program.models import DoseRaise, Question
from program.review.pathway_history import pathways_of
from tests.support.consents import HEIGHTS, said
from tests.support.factories import ExerciseFactory, PathwayFactory
from tests.support.family import EVENING, WEDNESDAY, assign, text
from tests.support.queue import did, hurt, pathway_of_three, put

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]

DAY = dt.timedelta(days=1)


@pytest.fixture
def page(cast, client_for):
    """The page of the child, as its coach reads it."""
    coach = client_for(cast.coach)
    address = reverse("program:child_review", args=[cast.child.public_id])
    return lambda **query: coach.get(address, query)


def test_the_page_is_one_of_the_children_wherever_it_is_opened_from(page):
    bar = page().content.decode().partition("bar-nav")[2].partition("</ul>")[0]
    (here,) = re.findall(r'href="([^"]+)"[^>]* aria-current', bar)
    assert here == reverse("athletes:children")


def test_the_way_travelled_is_drawn_with_who_moved_the_child_and_why(cast, page):
    squats = pathway_of_three()
    put(cast.child, squats.pathway, squats.sit, cast.coach, days_ago=60)
    last = put(cast.child, squats.pathway, squats.squat, cast.coach, days_ago=20)
    last.why = "Two more than the 8 asked, two sessions in a row."
    last.save()
    DoseRaise.objects.create(placement=last, amount=2, set_by=cast.coach, set_at=EVENING)
    (way,) = pathways_of(cast.coach, cast.child).histories
    assert [station.began for station in way.lane.stations] == [True, False, False]
    assert [station.here for station in way.lane.stations] == [False, True, False]
    answer = page()
    read = text(answer)
    assert "Squat from 15 October 2026, still · Owning Coach: Two more than the 8" in read
    assert "Sit to stand from 5 September 2026 to 4 November 2026" in read
    assert "Does 2 more than written of Squat." in read
    assert "began with Sit to stand, works on Squat;" in answer.content.decode()


def test_where_a_child_is_placed_says_what_is_missing_and_what_needs_a_decision(cast, page):
    squats = pathway_of_three()
    PathwayFactory(slug="land", name="Land", chain=[ExerciseFactory(), ExerciseFactory()])
    assert "Not placed yet. Until then Mira gets sessions as they are written" in text(page())
    put(cast.child, squats.pathway, squats.squat, cast.coach, days_ago=20)
    read = text(page())
    assert "Not placed on Land." in read
    assert "needs a decision" not in read
    squats.squat.status = "retired"
    squats.squat.save()
    assert "needs a decision Squat is retired" in text(page())


def test_a_pathway_that_contradicts_itself_has_no_lane_and_says_why(cast, page):
    squats = pathway_of_three()
    put(cast.child, squats.pathway, squats.squat, cast.coach, days_ago=20)
    with connection.cursor() as behind_its_back:
        behind_its_back.execute("ALTER TABLE library_lateral DISABLE TRIGGER USER")
    squats.pathway.laterals.create(one=squats.sit, other=squats.squat)
    assert "needs a decision This pathway contradicts itself" in text(page())


def test_what_is_spared_is_on_the_page_and_what_ended_by_itself_is_asked_about(cast, page):
    knee = {"region": "knee", "side": "left", "kind": "no_landing"}
    first = WEDNESDAY - 30 * DAY
    cast.child.restrictions.create(**knee, start=first, until=WEDNESDAY - 2 * DAY)
    read = text(page())
    assert "Is the left knee fine again? “No landing” ended by itself on 2 November." in read
    assert "Nothing just now." in read
    cast.child.restrictions.create(**knee, start=WEDNESDAY, until=WEDNESDAY + 7 * DAY)
    assert "Left knee: no landing until 11 November" in text(page())


def test_until_when_a_child_is_gone_gently_with_is_on_the_page(cast, page):
    assert "growing fast" not in text(page())
    set_growing_fast(cast.child, dt.date(2027, 1, 3))
    assert "growing fast Until 3 January landings are halved" in text(page())


def test_heights_are_drawn_with_a_table_behind_and_only_where_a_guardian_agrees(cast, page):
    for days_ago, height in ((182, 140), (0, 145)):
        cast.child.growth_measurements.create(on=WEDNESDAY - days_ago * DAY, height=height)
    assert "a year since" not in text(page())
    said(cast.child, cast.guardian, HEIGHTS)
    answer = page()
    read = text(answer)
    assert "10.0 cm a year since 6 May 2026, give or take 2.8." in read
    assert "4 November 2026 145.0 cm" in read
    assert 'aria-label="Heights: 6 May 2026: 140.0 cm; 4 Nov 2026: 145.0 cm"' in (
        answer.content.decode()
    )


def test_loads_are_drawn_with_the_numbers_and_the_limits_behind(cast, page):
    for weeks_ago in (1, 2, 3):
        did(cast.child, cast.guardian, 7 * weeks_ago + 2, effort=5, minutes=20 * weeks_ago)
    answer = page()
    read = text(answer)
    # Smoothed, (0.36 * 300 + 0.6 * 200 + 100) / (0.36 + 0.6 + 1) is 167.
    assert "26 October 1 of 1 5 100 167" in read
    assert "None of it says whether something will hurt." in read
    assert "Load by week: 12 Oct: 300; 19 Oct: 200; 26 Oct: 100; 2 Nov: no number" in (
        answer.content.decode()
    )


def test_pain_restrictions_and_questions_stand_with_who_and_when(cast, page):
    session = did(cast.child, cast.guardian, 3)
    hurt(session, cast.guardian, 3, note="On landing")
    cast.child.restrictions.create(
        region="knee", side="left", kind="no_landing", start=WEDNESDAY, until=WEDNESDAY + 9 * DAY
    )
    for asked, answer in (("How deep?", "To the chair."), ("And how often?", "")):
        Question.objects.create(
            child=cast.child,
            assigned_session=session,
            text=asked,
            asked_at=EVENING,
            asked_by=cast.guardian,
            answer=answer,
            answered_at=EVENING if answer else None,
            answered_by=cast.coach if answer else None,
        )
    read = text(page())
    assert "restriction 4 November 2026 Left knee: no landing until Fri 13 Nov" in read
    assert (
        "hurts 1 November 2026 Left knee, 4 of 10 “On landing” "
        "1st report about the knee in twelve weeks. Not answered yet." in read
    )
    assert "“How deep?” Own Parent, 4 November, 18:30, on Day 3 To the chair. Owning Coach" in read
    assert "“And how often?” Own Parent, 4 November, 18:30, on Day 3 Not answered yet." in read


def test_sessions_go_on_page_by_page_and_no_number_is_an_error(cast, page):
    for n in range(13):
        assign(cast.child, WEDNESDAY - n * DAY, name=f"Session {n:02}")
    first, second = page(), page(page=2)
    assert "Session 11" in text(first)
    assert "Session 12" not in text(first)
    assert "?page=2" in first.content.decode()
    assert "Session 12" in text(second)
    assert "?page=3" not in second.content.decode()
    for number in ("0", "-1", "x", "99", "9" * 30, "²"):
        assert page(page=number).status_code == 200
    assert "There is nothing this far back." in text(page(page=99))


def test_sport_elsewhere_is_told_with_the_day_it_was_said_and_what_it_comes_to(cast, page):
    assert "Sport elsewhere Fill it in Nobody has said." in text(page())
    # 10 hours elsewhere and two here: 12 at eleven years.
    usual = UsualSport(Decimal(10), club=(1, 3), matches=(6,))
    say_usual(cast.child, usual, WEDNESDAY - 2 * DAY, cast.guardian, EVENING)
    say_week(cast.child, WEDNESDAY - 2 * DAY, DifferentWeek.How.MORE, cast.guardian, EVENING)
    assign(cast.child, seconds=7200)
    assert (
        "10 hours a week: club Mon and Wed, matches Sat · this week more than usual more hours"
        " than years At least 12 hours this week with 2 here, at 11 years. Said on 4 November"
        " 2026 by Own Parent."
    ) in text(page())
