"""What is kept of a child's sport outside the program."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from athletes.models import DifferentWeek, SportElsewhere
from athletes.sport_elsewhere import UsualSport, say_usual, say_week
from program.engine.sport import Different

pytestmark = pytest.mark.django_db

MONDAY = dt.date(2026, 11, 2)
CLUB = UsualSport(Decimal("7.5"), club=(3, 1), matches=(6,))


def test_a_usual_week_holds_from_its_monday_and_a_second_answer_of_the_week_replaces_it(cast, now):
    say_usual(cast.child, CLUB, MONDAY, cast.guardian, now)
    say_usual(cast.child, UsualSport(), MONDAY, cast.coach, now)
    kept = SportElsewhere.objects.get()
    assert (kept.hours, kept.days, kept.said_by) == (0, set(), cast.coach)
    say_usual(cast.child, CLUB, MONDAY + dt.timedelta(weeks=1), cast.guardian, now)
    later = SportElsewhere.objects.get(hours__gt=0)
    assert (later.club, later.matches, later.days) == ([1, 3], [6], {1, 3, 6})
    assert SportElsewhere.objects.count() == 2


def test_a_week_differs_once_and_may_be_as_usual_again(cast, now):
    how = DifferentWeek.How
    for each in (how.MORE, how.NOTHING):
        say_week(cast.child, MONDAY, each, cast.guardian, now)
    assert DifferentWeek.objects.get().how == how.NOTHING
    say_week(cast.child, MONDAY, None, cast.guardian, now)
    assert not DifferentWeek.objects.exists()


@pytest.mark.parametrize(
    ("constraint", "said"),
    [
        ("sport_hours_are_sensible", {"hours": Decimal("40.5"), "club": [1]}),
        ("sport_hours_have_days", {"hours": 3}),
        ("sport_hours_have_days", {"hours": 0, "club": [1]}),
        ("sport_days_are_weekdays", {"hours": 3, "club": [8]}),
        ("sport_holds_from_a_monday", {"hours": 0, "since": MONDAY + dt.timedelta(days=1)}),
    ],
)
def test_what_cannot_be_is_refused_by_the_database(cast, now, constraint, said):
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        SportElsewhere.objects.create(
            **{"child": cast.child, "since": MONDAY, "said_at": now} | said
        )


def test_the_words_for_a_different_week_are_those_the_engine_knows():
    assert set(DifferentWeek.How.values) == set(Different)


def test_the_family_and_the_childs_coaches_see_it_and_nobody_else(cast, now):
    say_usual(cast.child, CLUB, MONDAY, cast.guardian, now)
    say_week(cast.child, MONDAY, DifferentWeek.How.LESS, cast.guardian, now)
    for model in (SportElsewhere, DifferentWeek):
        seen = [
            name
            for name in ("guardian", "athlete", "coach", "head_coach", "other_coach", "nobody")
            if model.objects.visible_to(getattr(cast, name)).exists()
        ]
        assert seen == ["guardian", "athlete", "coach", "head_coach"]
