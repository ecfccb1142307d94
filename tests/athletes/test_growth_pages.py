"""Measuring a child: who agrees, who sees, what is refused, and what is deleted."""

import datetime as dt

import pytest
from django.urls import reverse

from athletes.models import Child, GrowthMeasurement
from program.privacy.retention import let_go
from tests.support.children_pages import assert_well_made, errors_of, text
from tests.support.consents import HEIGHTS, said
from tests.support.factories import ChildFactory

pytestmark = pytest.mark.django_db

DAY = dt.timedelta(days=1)


def page(child, name="growth", *more) -> str:
    return reverse(f"athletes:{name}", args=[child.public_id, *more])


@pytest.fixture
def agreed(cast, now):
    return said(cast.child, cast.guardian, HEIGHTS)


def measure(child, on, height, **more) -> GrowthMeasurement:
    return GrowthMeasurement.objects.create(child=child, on=on, height=height, **more)


def write_down(client, child, on, height, **more):
    sent = {"on": on.isoformat(), "height": height, "sitting": ""} | more
    return client.post(page(child), sent)


def test_nothing_is_measured_before_the_family_agrees(cast, client_for, today):
    coach = client_for(cast.coach)
    assert "The family has to agree" in text(coach.get(page(cast.child)))
    write_down(coach, cast.child, today, "141.5")
    assert not GrowthMeasurement.objects.exists()
    said(cast.child, cast.guardian, HEIGHTS)
    write_down(coach, cast.child, today, "141.5")
    assert GrowthMeasurement.objects.get().measured_by == cast.coach


def test_after_a_no_heights_are_shown_to_nobody_and_deleted_after_two_weeks(
    cast, client_for, agreed, now, today
):
    """Kept until then, so that a slip, or a second thought, costs nothing."""
    measure(cast.child, today - 200 * DAY, 140)
    said(cast.child, cast.guardian, HEIGHTS, given=False, at=now)
    for person in (cast.coach, cast.head_coach, cast.guardian):
        assert "140.0 cm" not in text(client_for(person).get(page(cast.child)))
    let_go(now + 14 * DAY)
    assert GrowthMeasurement.objects.exists()
    said(cast.child, cast.guardian, HEIGHTS, at=now)
    let_go(now + 15 * DAY)
    assert "140.0 cm" in text(client_for(cast.guardian).get(page(cast.child)))
    said(cast.child, cast.guardian, HEIGHTS, given=False, at=now)
    let_go(now + 14 * DAY + dt.timedelta(seconds=1))
    assert not GrowthMeasurement.objects.exists()


def test_what_was_measured_is_seen_by_coaches_and_guardians_of_the_child_alone(
    cast, client_for, agreed, today
):
    measure(cast.child, today, "141.5")
    for person in (cast.coach, cast.head_coach, cast.guardian):
        assert "141.5 cm" in text(client_for(person).get(page(cast.child)))
    for person in (cast.other_coach, cast.other_guardian, cast.athlete, cast.nobody):
        assert client_for(person).get(page(cast.child)).status_code == 404
        assert not GrowthMeasurement.objects.visible_to(person).exists()
    cast.guardian.is_active = False
    assert not GrowthMeasurement.objects.visible_to(cast.guardian).exists()


def test_without_an_answer_a_row_that_is_left_is_shown_to_nobody(cast, today):
    measure(cast.child, today, "141.5")
    for person in (cast.coach, cast.head_coach, cast.guardian):
        assert not GrowthMeasurement.objects.visible_to(person).exists()


@pytest.mark.parametrize(
    ("details", "told"),
    [
        ({"height": "300"}, "A height lies between 70 and 230 cm"),
        ({"height": "134"}, "6 cm shorter than on 27 July 2026"),
        ({"height": "141", "sitting": "142"}, "Nobody sits taller"),
        ({"height": "141", "sitting": "120"}, "measured from the seat"),
        ({"height": ""}, "Write the height in centimetres."),
        ({"height": "tall"}, "Write centimetres with one decimal at most, such as 140.5."),
        ({"height": "NaN"}, "Write centimetres with one decimal"),
        ({"height": "14050"}, "Write centimetres with one decimal"),
        ({"height": "140.55"}, "Write centimetres with one decimal"),
        ({"height": "141", "sitting": "70.25"}, "Write centimetres with one decimal"),
        ({"mass": "35.55"}, "Write kilograms with one decimal"),
        ({"on": "2026-11-05"}, "This day has not come yet."),
        ({"on": "2026-07-27"}, "This day is measured already."),
        ({"on": "soon"}, "Give the day as day, month and year"),
        ({"mass": "900"}, "A mass lies between"),
        ({"height_again": "143.1"}, "The two readings lie 2.1 cm apart. Measure again."),
        ({"height_again": "141.25"}, "Write centimetres with one decimal"),
    ],
)
def test_what_cannot_be_is_refused_in_plain_words_and_nothing_is_lost(
    cast, client_for, agreed, today, details, told
):
    measure(cast.child, today - 100 * DAY, 140)
    sent = {"on": "2026-11-04", "height": "141", "sitting": "", "mass": ""} | details
    answer = client_for(cast.coach).post(page(cast.child), sent)
    assert told in errors_of(answer)
    assert f'value="{sent["height"]}"' in answer.content.decode() or not sent["height"]
    assert GrowthMeasurement.objects.count() == 1


def test_a_height_read_twice_is_kept_with_both_readings(cast, client_for, agreed, today):
    guardian = client_for(cast.guardian)
    write_down(guardian, cast.child, today, "140", height_again="140.4")
    kept = GrowthMeasurement.objects.get()
    assert (float(kept.height), float(kept.height_again)) == (140, 140.4)
    assert kept.measured.middle == pytest.approx(140.2)
    assert "140.0 cm and 140.4 cm" in text(guardian.get(page(cast.child)))


def test_the_tapes_error_is_that_of_all_heights_read_twice_and_said(
    cast, client_for, agreed, today
):
    """Ten heights read 0.4 cm apart: the root of 10 * 0.16 over 20 is 0.283, and 0.3 at least. Two
    readings half a year apart leave 2.228 * 0.3 * 1.414 over 0.498: 1.9. Those of a child whose
    family does not agree do not count."""
    measure(cast.child, today - 182 * DAY, 140)
    measure(cast.child, today, 145)
    club = {"cohort": cast.other_cohort, "guardian": cast.other_guardian}
    others = [ChildFactory(**club) for _ in range(2)]
    said(others[0], cast.other_guardian, HEIGHTS)
    for child in others:
        for n in range(9):
            measure(child, today - (n + 2) * DAY, 150, height_again="150.4")
    guardian = client_for(cast.guardian)
    read = text(guardian.get(page(cast.child)))
    assert "give or take 2.8 " in read
    assert "taken to be off by 0.5 cm, since fewer than 10 heights here were read twice" in read
    measure(others[0], today, 150, height_again="150.4")
    read = text(guardian.get(page(cast.child)))
    assert "give or take 1.9 " in read
    assert "taken to be off by 0.3 cm, going by 10 heights here that were read twice." in read


def test_the_pace_is_shown_with_its_band_and_a_spurt_is_named(cast, client_for, agreed, today):
    """5 cm in 182 days are 10.0 a year; the tape leaves 2.8 either side."""
    measure(cast.child, today - 182 * DAY, 140)
    measure(cast.child, today, 145)
    read = text(client_for(cast.guardian).get(page(cast.child)))
    assert "10.0 cm a year since 6 May 2026, give or take 2.8" in read
    assert "a time for gentle landings" in read
    assert "Go gently for a while" not in read
    assert "Go gently for a while" in text(client_for(cast.coach).get(page(cast.child)))


def test_an_ordinary_pace_is_no_spurt(cast, client_for, agreed, today):
    measure(cast.child, today - 182 * DAY, 140)
    measure(cast.child, today, "142.5")
    read = text(client_for(cast.coach).get(page(cast.child)))
    assert "5.0 cm a year" in read
    assert "gentle landings" not in read.replace("want gentler landings", "")


def test_the_estimate_is_a_band_and_only_where_girl_or_boy_is_noted(
    cast, client_for, agreed, today
):
    """11.39 years and 150 cm: -7.709133 + 0.0042232 * 11.39 * 150 is -0.49, give or take 0.528."""
    measure(cast.child, today, 150)
    coach = client_for(cast.coach)
    assert "once girl or boy is noted" in text(coach.get(page(cast.child)))
    Child.objects.filter(pk=cast.child.pk).update(sex="female")
    read = text(coach.get(page(cast.child)))
    assert "between 1.0 years ahead and 0.0 years past on 4 November 2026" in read
    assert "never a gate" in read


def test_nothing_is_estimated_of_a_child_of_six_and_the_page_says_why(
    cast, client_for, agreed, today
):
    born = today - 6.5 * 365.25 * DAY
    Child.objects.filter(pk=cast.child.pk).update(sex="male", birth_date=born)
    measure(cast.child, today, 120)
    read = text(client_for(cast.coach).get(page(cast.child)))
    assert "The fastest growing is" not in read
    assert "made from children between 7.5 and 17.5 years" in read


def test_mass_is_asked_of_coaches_alone_and_never_shown(cast, client_for, agreed, today):
    assert "Mass in kg" not in text(client_for(cast.guardian).get(page(cast.child)))
    write_down(client_for(cast.guardian), cast.child, today, "141.5", mass="33.3")
    assert GrowthMeasurement.objects.get().mass is None
    GrowthMeasurement.objects.update(mass="33.3")
    for person in (cast.coach, cast.guardian):
        assert "33.3" not in text(client_for(person).get(page(cast.child)))


def test_a_slip_of_the_tape_is_deleted(cast, client_for, agreed, today):
    slip = measure(cast.child, today, 150)
    other = measure(cast.other_child, today, 150)
    coach = client_for(cast.coach)
    assert coach.post(page(cast.child, "measurement_out", other.pk)).status_code == 404
    coach.post(page(cast.child, "measurement_out", slip.pk))
    assert list(GrowthMeasurement.objects.all()) == [other]


def test_the_page_is_well_made(cast, client_for, agreed, today):
    measure(cast.child, today - 182 * DAY, 140, measured_by=cast.coach)
    measure(cast.child, today, 145, sitting="75.5")
    Child.objects.filter(pk=cast.child.pk).update(sex="male")
    for person in (cast.coach, cast.guardian):
        assert_well_made(client_for(person).get(page(cast.child)))


def test_the_page_costs_the_same_queries_however_often_was_measured(
    cast, client_for, agreed, today, django_assert_max_num_queries
):
    counts, coach = [], client_for(cast.coach)
    for days in ((1, 2), (100, 200, 300, 400)):
        for back in days:
            measure(cast.child, today - back * DAY, 140, measured_by=cast.coach)
        with django_assert_max_num_queries(12) as asked:
            coach.get(page(cast.child))
        counts.append(len(asked))
    assert counts[0] == counts[1]
