"""A family is asked once a season what sport there is elsewhere, and says when a week differs.

It is Wednesday evening; the child is eleven."""

import datetime as dt
from decimal import Decimal

import pytest
from django.urls import reverse

from athletes.models import DifferentWeek, SportElsewhere
from athletes.sport_elsewhere import UsualSport, say_usual
from tests.support.children_pages import assert_well_made, errors_of
from tests.support.factories import MONDAY
from tests.support.family import EVENING, assign, text

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]

A_WEEK = dt.timedelta(weeks=1)
ASKS = "It takes less than a minute"
CLUB = {"sport-hours": "7.5", "sport-club": ["1", "3"], "sport-matches": ["6"]}
IN_WORDS = "7.5 hours a week, on Mon, Wed and Sat"


def to(name: str, child) -> str:
    return reverse(f"program:{name}", args=[child.public_id])


@pytest.fixture
def family(cast, client_for):
    return client_for(cast.guardian)


def day(family, child, query="") -> str:
    return text(family.get(to("child_day", child) + query))


def says(cast, hours="7.5", since=MONDAY, club=(1, 3, 6)):
    say_usual(cast.child, UsualSport(Decimal(hours), club=club), since, cast.guardian, EVENING)


def differs(family, child, how, monday=MONDAY):
    return family.post(to("sport_week", child), {"how": how, "week": f"{monday:%Y-%m-%d}"})


def test_a_family_is_asked_on_its_first_page_and_answers_in_one_form(cast, family):
    assert ASKS in day(family, cast.child)
    form = family.get(to("sport", cast.child))
    assert_well_made(form)
    answer = family.post(to("sport", cast.child), CLUB)
    assert answer.headers["location"] == to("child_day", cast.child)
    said = SportElsewhere.objects.get()
    assert (said.since, said.hours, said.club, said.matches, said.said_by) == (
        *(MONDAY, Decimal("7.5"), [1, 3], [6]),
        cast.guardian,
    )
    read = day(family, cast.child)
    assert ASKS not in read
    assert f"Usually {IN_WORDS}." in read


def test_none_is_one_press_and_an_answer(cast, family):
    family.post(to("sport", cast.child), {"none": "1", "sport-hours": "x"})
    assert SportElsewhere.objects.get().hours == 0
    assert "Usually none." in day(family, cast.child)


def test_put_off_it_is_not_asked_for_two_weeks_where_somebody_is_signed_in(
    cast, family, client_for, monkeypatch
):
    assert family.post(to("sport_later", cast.child)).status_code == 302
    assert ASKS not in day(family, cast.child)
    assert ASKS in day(client_for(cast.guardian), cast.child)
    for days, asks in ((13, False), (14, True)):
        then = EVENING + dt.timedelta(days=days)
        monkeypatch.setattr("django.utils.timezone.now", lambda then=then: then)
        assert (ASKS in day(family, cast.child)) is asks


def test_after_a_season_it_is_asked_whether_that_is_still_so(cast, family):
    says(cast, since=MONDAY - 16 * A_WEEK)
    assert "still so" not in day(family, cast.child)
    says(cast, since=MONDAY - 17 * A_WEEK)
    SportElsewhere.objects.filter(since__gt=MONDAY - 17 * A_WEEK).delete()
    assert f"Last said: {IN_WORDS}. Is that still so?" in day(family, cast.child)


def test_it_is_asked_of_this_week_alone_and_never_of_a_coach_or_a_minor(cast, family, client_for):
    assert ASKS not in day(family, cast.child, f"?day={MONDAY + A_WEEK:%Y-%m-%d}")
    for person in (cast.coach, cast.athlete):
        assert ASKS not in day(client_for(person), cast.child)


def test_a_week_differs_by_one_press_and_is_as_usual_by_another(cast, family):
    says(cast)
    page = family.get(to("child_day", cast.child))
    assert_well_made(page)
    for how, kept in (("nothing", ["nothing"]), ("more", ["more"]), ("usual", [])):
        assert differs(family, cast.child, how).status_code == 302
        assert [*DifferentWeek.objects.values_list("how", flat=True)] == kept


def test_weeks_ahead_may_differ_and_none_that_is_over_or_far_away(cast, family):
    says(cast)
    ahead = MONDAY + 12 * A_WEEK
    assert differs(family, cast.child, "nothing", ahead).status_code == 302
    assert "as usual" in day(family, cast.child, f"?day={ahead:%Y-%m-%d}")
    for wrong in (MONDAY - A_WEEK, ahead + A_WEEK, MONDAY + dt.timedelta(days=1)):
        assert differs(family, cast.child, "nothing", wrong).status_code == 404
    assert differs(family, cast.child, "twice").status_code == 404
    assert "as usual" not in day(family, cast.child, f"?day={MONDAY - A_WEEK:%Y-%m-%d}")
    assert DifferentWeek.objects.get().week == ahead


@pytest.mark.parametrize(
    ("said", "wrong"),
    [
        ({"hours": "", "club": ["1"]}, "Write about how many hours a week."),
        ({"hours": "5"}, "Tick the days, of whatever kind."),
        ({"hours": "0", "club": ["1"]}, "About how many hours are that, all together?"),
        ({"hours": "41", "club": ["1"]}, "At most 40 hours."),
        ({"hours": "5", "club": ["8"]}, "Choose among the days of the week."),
    ],
)
def test_what_is_missing_is_said_at_its_field_and_nothing_typed_is_lost(cast, family, said, wrong):
    sent = {f"sport-{name}": value for name, value in said.items()}
    answer = family.post(to("sport", cast.child), sent)
    assert wrong in errors_of(answer)
    assert f'value="{said["hours"]}"' in answer.content.decode() or not said["hours"]
    assert not SportElsewhere.objects.exists()


def test_more_hours_than_years_are_told_where_it_is_answered_with_what_is_published(cast, family):
    # 10 hours elsewhere, and twice an hour here: 12 at eleven years.
    for plus in (1, 4):
        assign(cast.child, MONDAY + dt.timedelta(days=plus), seconds=3600)
    answer = family.post(to("sport", cast.child), {"sport-hours": "10", "sport-club": ["1", "2"]})
    assert answer.headers["location"] == to("sport", cast.child)
    read = text(family.get(to("sport", cast.child)))
    assert "With 2 hours here, this week has 12 hours of sport, at 11 years." in read
    assert "No day of this week" not in read


def test_without_a_reason_the_family_is_told_only_why_it_is_asked(cast, family):
    says(cast, hours="9")
    read = text(family.get(to("sport", cast.child)))
    assert "Said on 4 November by Own Parent: 9 hours a week: club Mon, Wed and Sat." in read
    assert "1190" not in read


def test_a_coach_reads_and_corrects_it_and_another_coach_does_not_find_it(cast, client_for):
    coach = client_for(cast.coach)
    assert_well_made(coach.get(to("sport", cast.child)))
    answer = coach.post(to("sport", cast.child), CLUB)
    assert answer.headers["location"] == to("child_review", cast.child)
    assert SportElsewhere.objects.get().said_by == cast.coach
    for person in (cast.other_coach, cast.athlete, cast.nobody):
        assert client_for(person).get(to("sport", cast.child)).status_code == 404
