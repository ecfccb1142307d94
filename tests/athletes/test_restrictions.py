"""What a child is spared, through the page a coach and a family share."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.models import Restriction
from tests.support.children_pages import assert_well_made, errors_of, text

pytestmark = pytest.mark.django_db

KNEE = {
    "region": "knee",
    "side": "left",
    "kind": "no_landing",
    "start": "2026-11-04",
    "until": "2026-11-18",
    "note": "Twisted at school.",
}


def page(child, name="restrictions", *more) -> str:
    return reverse(f"athletes:{name}", args=[child.public_id, *more])


@pytest.mark.parametrize("person", ["coach", "guardian", "athlete", "head_coach"])
def test_a_coach_sets_and_a_family_reports_what_to_spare(cast, client_for, person):
    who = client_for(getattr(cast, person))
    assert_well_made(who.get(page(cast.child)))
    answer = who.post(page(cast.child), KNEE, follow=True)
    read = text(answer)
    assert "Left knee: no landing until 18 November 2026." in read
    assert f"{getattr(cast, person).name}, 4 November: Twisted at school." in read
    row = Restriction.objects.get()
    assert (row.child, row.set_by) == (cast.child, getattr(cast, person))
    assert (row.start, row.until) == (dt.date(2026, 11, 4), dt.date(2026, 11, 18))


def test_the_caution_stands_where_it_matters(cast, client_for):
    read = text(client_for(cast.guardian).get(page(cast.child)))
    assert "Pain is a stop. This is not medical advice" in read
    assert "no diagnosis is needed" in read


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"region": ""}, "Choose where."),
        ({"region": "tail"}, "Choose one of the places in the list."),
        ({"side": ""}, "Choose a side"),
        ({"side": "up"}, "Choose left, right or both."),
        ({"kind": ""}, "Choose what to leave out."),
        ({"kind": "all"}, "Choose one of the three."),
        ({"start": ""}, "Choose a day."),
        ({"start": "2026-07-01"}, "At most three months back."),
        ({"start": "2028-07-01", "until": "2028-07-02"}, "At most a year ahead."),
        ({"until": ""}, "Choose the last day."),
        ({"until": "never"}, "Give the day as day, month and year"),
        (
            {"start": "2026-11-10", "until": "2026-11-09"},
            "This is before it starts, on 10 November 2026.",
        ),
        ({"start": "2026-11-01", "until": "2026-11-03"}, "This day is over already."),
        ({"until": "2027-12-01"}, "At most a year. Set it again then"),
        ({"note": "x" * 201}, "At most 200 characters."),
    ],
)
def test_each_wrong_entry_is_refused_at_its_field_and_nothing_is_set(
    cast, client_for, wrong, message
):
    answer = client_for(cast.coach).post(page(cast.child), KNEE | wrong)
    assert message in errors_of(answer)
    assert_well_made(answer)
    assert not Restriction.objects.exists()


def test_a_double_press_sets_it_once_and_says_so(cast, client_for):
    guardian = client_for(cast.guardian)
    guardian.post(page(cast.child), KNEE)
    answer = guardian.post(page(cast.child), KNEE, follow=True)
    assert "Left knee: no landing was set already until 18 November 2026." in text(answer)
    assert Restriction.objects.count() == 1


def test_setting_it_longer_stretches_it_and_says_so(cast, client_for):
    guardian = client_for(cast.guardian)
    guardian.post(page(cast.child), KNEE)
    answer = guardian.post(page(cast.child), KNEE | {"until": "2026-12-01"}, follow=True)
    assert "until 18 November 2026. It now holds until 1 December 2026." in text(answer)
    assert Restriction.objects.count() == 1


def test_a_coach_lifts_early_and_the_past_keeps_who_said_what(cast, client_for):
    client_for(cast.guardian).post(page(cast.child), KNEE)
    row = Restriction.objects.get()
    coach = client_for(cast.coach)
    answer = coach.post(page(cast.child, "lift_restriction", row.pk), follow=True)
    read = text(answer)
    assert "Noted: Mira T.’s left knee is fine again." in read
    assert (
        "Before Left knee: no landing from 4 November 2026 set by Own Parent until "
        "18 November 2026; fine again on 4 November 2026, said Owning Coach"
    ) in read
    assert "Now and to come" not in read
    again = coach.post(page(cast.child, "lift_restriction", row.pk), follow=True)
    assert "Somebody had noted that before." in text(again)


def test_a_family_does_not_lift_and_is_told_whom_to_ask(cast, client_for):
    guardian = client_for(cast.guardian)
    guardian.post(page(cast.child), KNEE)
    row = Restriction.objects.get()
    assert guardian.post(page(cast.child, "lift_restriction", row.pk)).status_code == 404
    assert "Tell the coach, who can lift it early." in text(guardian.get(page(cast.child)))
    assert Restriction.objects.in_force(row.start).exists()


def test_a_restriction_is_lifted_only_through_its_own_child(cast, client_for):
    head = client_for(cast.head_coach)
    head.post(page(cast.child), KNEE)
    row = Restriction.objects.get()
    assert head.post(page(cast.other_child, "lift_restriction", row.pk)).status_code == 404
    assert Restriction.objects.get().lifted_on is None


def test_what_ended_by_itself_asks_and_offers_to_be_set_again(cast, client_for):
    cast.child.restrictions.create(
        **(KNEE | {"start": dt.date(2026, 10, 1), "until": dt.date(2026, 11, 3)})
    )
    coach = client_for(cast.coach)
    assert "Is the left knee fine again?" in text(coach.get(page(cast.child)))
    prefilled = {"region": "knee", "side": "left", "kind": "no_landing"}
    form = coach.get(page(cast.child), prefilled).context["form"]
    assert {name: form[name].value() for name in prefilled} == prefilled
    coach.post(page(cast.child, "lift_restriction", Restriction.objects.get().pk))
    assert "Is the left knee fine again?" not in text(coach.get(page(cast.child)))


def test_one_still_to_come_says_from_when(cast, client_for):
    coach = client_for(cast.coach)
    coach.post(page(cast.child), KNEE | {"start": "2026-11-10"})
    assert "Left knee: no landing from 10 November until 18 November 2026" in text(
        coach.get(page(cast.child))
    )


def test_many_restrictions_take_as_many_queries_as_few(cast, client_for):
    coach = client_for(cast.coach)

    def queries():
        with CaptureQueriesContext(connection) as captured:
            coach.get(page(cast.child))
        return len(captured)

    coach.post(page(cast.child), KNEE)
    coach.get(page(cast.child))  # reads away the message of what was set
    few = queries()
    for region in ("ankle", "foot", "elbow", "thigh", "shoulder"):
        coach.post(page(cast.child), KNEE | {"region": region})
    coach.get(page(cast.child))
    assert queries() == few <= 12
