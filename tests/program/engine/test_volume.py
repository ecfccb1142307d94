"""Volumes added up by hand, and that they add however they are split."""

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.landing import ContactClass
from library.models import Pattern
from library.tempo import Tempo
from program.engine.dose.dose import Dose, Measure, Sides
from program.engine.pace import Pace
from program.engine.volume import (
    HIP_DOMINANT,
    KNEE_DOMINANT,
    LEGS,
    PULL,
    PUSH,
    Ratio,
    Volume,
    VolumeSlot,
    Work,
    by_week,
    volume,
)
from tests.support.engine_strategies import doses


def slot(pattern, dose, rounds=3, loads=()):
    return VolumeSlot(pattern, dose, rounds, frozenset(loads))


SPLIT_SQUAT = slot(
    "single_leg",
    Dose(Measure.REPETITIONS, 8, Sides.EACH, Tempo.parse("3-1-1-0")),
    loads=["knee", "hip_groin"],
)
LUNGE = slot(
    "single_leg", Dose(Measure.REPETITIONS, 9, Sides.ALTERNATING), rounds=2, loads=["knee"]
)
FLOOR_PUSH = slot("push", Dose(Measure.REPETITIONS, 8), loads=["shoulder"])
SIDE_BRACE = slot("side_brace", Dose(Measure.SECONDS, 10, Sides.EACH), rounds=2)
CRAWL = slot("crawl", Dose(Measure.METRES, 8), rounds=2, loads=["shoulder", "wrist_hand"])
DROP_LANDING = slot("land", Dose(Measure.REPETITIONS, 5, contacts=2), loads=["knee", "ankle"])
ROPE = slot("skip", Dose(Measure.SECONDS, 15, contacts=2), rounds=4, loads=["ankle"])
SESSION = [SPLIT_SQUAT, LUNGE, FLOOR_PUSH, SIDE_BRACE, CRAWL, DROP_LANDING, ROPE]


class TestAddedUpByHand:
    def test_nothing_planned_is_no_work(self):
        assert volume([]) == Volume()
        assert volume([]).total == volume([]).of_pattern("push") == Work()

    def test_each_side_doubles_the_repetitions_but_not_the_sets(self):
        # 3 sets; 3 × 8 a side; 48 repetitions × (3 + 1 + 1) s
        assert volume([SPLIT_SQUAT]).of_pattern("single_leg") == Work(
            sets=3,
            one_sided_sets=3,
            repetitions=48,
            left_repetitions=24,
            right_repetitions=24,
            time_under_tension=240,
        )

    def test_alternating_gives_the_left_the_odd_repetition_of_every_round(self):
        # 2 × 9 = 18, of which the left 2 × 5 and the right 2 × 4; 18 × 3 s
        assert volume([LUNGE]).of_pattern("single_leg") == Work(
            sets=2,
            one_sided_sets=2,
            repetitions=18,
            left_repetitions=10,
            right_repetitions=8,
            time_under_tension=54,
        )

    def test_holds_and_metres_are_counted_as_such(self):
        # 2 × (10 + 10) s held; 2 × 8 m
        work = volume([SIDE_BRACE, CRAWL])
        assert work.of_pattern("side_brace") == Work(sets=2, one_sided_sets=2, hold_seconds=40)
        assert work.of_pattern("crawl") == Work(sets=2, metres=16)

    def test_contacts_come_from_repetitions_and_from_bouts(self):
        # Landings 3 × 5 × 2 feet; rope 4 × 15 s × 2 a second
        work = volume([DROP_LANDING, ROPE])
        assert work.of_pattern("land").ground_contacts == 30
        assert work.of_pattern("skip").ground_contacts == 120
        assert work.total.ground_contacts == 150

    def test_contacts_are_told_apart_by_how_hard_they_are(self):
        # 3 × 5 × 2 from a height, 4 × 15 × 2 low; a week of two such sessions has both twice.
        drop = replace(DROP_LANDING, contact_class=ContactClass.FROM_HEIGHT)
        here = volume([drop, ROPE, SPLIT_SQUAT])
        assert here.contacts_by_class == {ContactClass.FROM_HEIGHT: 30, ContactClass.LOW: 120}
        assert (here + here).contacts_by_class == {
            ContactClass.FROM_HEIGHT: 60,
            ContactClass.LOW: 240,
        }

    def test_a_whole_session(self):
        work = volume(SESSION)
        assert work.of_pattern("single_leg") == Work(
            sets=3 + 2,
            one_sided_sets=3 + 2,
            repetitions=48 + 18,
            left_repetitions=24 + 10,
            right_repetitions=24 + 8,
            time_under_tension=240 + 54,
        )
        assert work.total == Work(
            sets=3 + 2 + 3 + 2 + 2 + 3 + 4,
            one_sided_sets=3 + 2 + 2,
            repetitions=48 + 18 + 24 + 15,
            left_repetitions=34,
            right_repetitions=32,
            time_under_tension=240 + 54 + 24 * 3 + 15 * 3,
            hold_seconds=40 + 60,
            metres=16,
            ground_contacts=30 + 120,
        )

    def test_an_exercise_counts_in_every_region_it_loads(self):
        work = volume(SESSION)
        # Knee: split squat 3, lunge 2, landing 3 sets. Ankle: landing 3, rope 4.
        assert work.regions["knee"].sets == 3 + 2 + 3
        assert work.regions["ankle"].sets == 3 + 4
        assert work.regions["ankle"].ground_contacts == 30 + 120
        assert "elbow" not in work.regions

    def test_a_week_is_the_sum_of_its_sessions(self):
        week = sum([volume(SESSION), volume([FLOOR_PUSH]), volume([ROPE])], Volume())
        assert week.of_pattern("push").repetitions == 24 + 24
        assert week.of_pattern("skip").ground_contacts == 120 + 120
        assert week.regions["shoulder"].sets == 3 + 2 + 3

    def test_a_block_is_shared_out_among_its_weeks(self):
        day, one = dt.date(2026, 11, 5), volume([SPLIT_SQUAT])
        days = [(day + dt.timedelta(n), one) for n in (-1, 0, 6, 7, 20, 21)]
        assert by_week(days, day, 3) == [one + one, one, one]

    def test_the_pace_sets_the_time_of_repetitions_without_a_tempo(self):
        brisk = Pace(seconds_per_repetition=2)
        assert volume([FLOOR_PUSH], brisk).total.time_under_tension == 24 * 2


class TestRatios:
    def test_push_against_pull_in_sets(self):
        row = slot("pull", Dose(Measure.REPETITIONS, 10), rounds=2)
        assert volume([FLOOR_PUSH, row]).push_to_pull == Ratio(3, 2)

    def test_knee_against_hip(self):
        squat = slot("squat", Dose(Measure.REPETITIONS, 10), rounds=2)
        hinge = slot("hinge", Dose(Measure.REPETITIONS, 8), rounds=1)
        slide = slot("hamstring_slide", Dose(Measure.SECONDS, 20), rounds=3)
        # Knee: squat 2 + split squat 3. Hip: hinge 1 + slide 3. The push is neither.
        assert volume([squat, SPLIT_SQUAT, hinge, slide, FLOOR_PUSH]).knee_to_hip == Ratio(5, 4)

    def test_both_legs_against_one(self):
        squat = slot("squat", Dose(Measure.REPETITIONS, 10), rounds=4)
        one_leg_hinge = slot("hinge", Dose(Measure.REPETITIONS, 6, Sides.EACH), rounds=2)
        one_leg_stand = slot("single_leg", Dose(Measure.SECONDS, 20), rounds=1)
        # Both: squat 4 + landing 3. One: hinge 2 + stand 1 + lunge 2.
        # Skipping and the brace each side are no leg strength.
        session = [squat, one_leg_hinge, one_leg_stand, LUNGE, DROP_LANDING, ROPE, SIDE_BRACE]
        assert volume(session).both_legs_to_one == Ratio(7, 5)

    def test_a_ratio_to_nothing_has_no_number(self):
        nothing_pulled = volume([FLOOR_PUSH]).push_to_pull
        assert str(nothing_pulled) == "3 : 0"

    def test_ratios_compare_patterns_of_the_library(self):
        assert set(Pattern.values) >= PUSH | PULL | LEGS

    @pytest.mark.parametrize(("one", "other"), [(PUSH, PULL), (KNEE_DOMINANT, HIP_DOMINANT)])
    def test_no_pattern_stands_on_both_sides_of_a_ratio(self, one, other):
        assert not one & other


slots = st.builds(
    VolumeSlot,
    pattern=st.sampled_from(Pattern.values),
    dose=doses,
    rounds=st.integers(1, 10),
    loads=st.frozensets(st.sampled_from(["knee", "ankle", "shoulder"])),
    contact_class=st.sampled_from(ContactClass),
)
sessions = st.lists(slots, max_size=6)


class TestEveryVolume:
    @given(sessions, sessions)
    def test_two_sessions_add_up_to_one_with_all_their_slots(self, first, second):
        assert volume(first) + volume(second) == volume(first + second)

    @given(sessions, sessions)
    def test_the_order_of_sessions_does_not_matter(self, first, second):
        assert volume(first) + volume(second) == volume(second) + volume(first)

    @given(sessions)
    def test_no_work_adds_nothing(self, session):
        assert volume(session) + Volume() == Volume() + volume(session) == volume(session)

    @given(sessions)
    def test_the_contacts_of_all_classes_are_all_there_are(self, session):
        done = volume(session)
        contacts = sum(done.contacts_by_class.values())
        assert contacts == pytest.approx(done.total.ground_contacts)

    @given(sessions)
    def test_the_total_holds_every_round(self, session):
        assert volume(session).total.sets == sum(slot.rounds for slot in session)

    @given(slots)
    def test_rounds_add_up_one_by_one(self, slot):
        one = volume([replace(slot, rounds=1)])
        assert sum([one] * slot.rounds, Volume()) == volume([slot])

    @given(sessions)
    def test_no_side_does_more_than_there_is(self, session):
        total = volume(session).total
        assert total.left_repetitions + total.right_repetitions <= total.repetitions
        assert total.one_sided_sets <= total.sets

    @given(sessions)
    def test_legs_are_shared_out_completely(self, session):
        ratio = volume(session).both_legs_to_one
        legs = [slot for slot in session if slot.pattern in LEGS]
        assert ratio.first + ratio.second == sum(slot.rounds for slot in legs)
        assert ratio.first >= 0
