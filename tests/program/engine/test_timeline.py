"""Sessions added up by hand, and the trade's usual timings.

Unless a test says otherwise the pace is the junior's: get ready 10 s, change side 4, move on 5,
breather 10, drink 20, fetch a grown-up 10; a repetition without a tempo 3 s, a metre 2.5 s.
"""

import pytest

from library.tempo import Tempo
from program.engine.dose.dose import Dose, Measure, Side, Sides
from program.engine.pace import Pace
from program.engine.timeline import (
    PartKind,
    Spending,
    StepKind,
    TimedPart,
    TimedSlot,
    duration,
    part_durations,
    spent,
    timeline,
)


def repetitions(amount, sides=Sides.BOTH, tempo=None):
    return Dose(Measure.REPETITIONS, amount, sides, Tempo.parse(tempo) if tempo else None)


def seconds(amount, sides=Sides.BOTH):
    return Dose(Measure.SECONDS, amount, sides)


def metres(amount):
    return Dose(Measure.METRES, amount)


def slot(name, dose, rest=None, set_up=0, watched=False):
    return TimedSlot(name, name, dose, rest, set_up, watched)


def straight(*slots, rounds=1, rest=0, key="part"):
    return TimedPart(key, key, PartKind.STRAIGHT, rounds, rest, slots)


def superset(*slots, rounds=1, rest=0, key="part"):
    return TimedPart(key, key, PartKind.SUPERSET, rounds, rest, slots)


def circuit(*slots, rounds=1, rest=0, key="part"):
    return TimedPart(key, key, PartKind.CIRCUIT, rounds, rest, slots)


def script(steps):
    """The steps in short: "work squat 24", "change_side lunge right 4", "rest 30"."""
    return [
        " ".join(str(word) for word in (s.kind, s.slot_key, s.side, s.seconds) if word is not None)
        for s in steps
    ]


class TestAddedUpByHand:
    def test_an_empty_session_has_no_steps(self):
        assert timeline([]) == ()
        assert duration(()) == 0 == sum(spent(()).values())
        assert part_durations(()) == {}

    def test_a_part_without_slots_takes_no_time_and_no_drink(self):
        steps = timeline([straight(key="empty"), straight(slot("squat", repetitions(8)), key="a")])
        # 10 ready + 8 × 3
        assert script(steps) == ["get_ready squat 10", "work squat 24"]

    def test_one_set_of_one_exercise(self):
        steps = timeline([straight(slot("squat", repetitions(10, tempo="3-1-1-0")))])
        # 10 ready + 10 × (3 + 1 + 1)
        assert duration(steps) == 10 + 50

    def test_straight_rounds_rest_between_but_not_after_the_last(self):
        steps = timeline([straight(slot("squat", repetitions(8)), rounds=3, rest=45)])
        # 10 ready + 3 × (8 × 3) + 2 rests of 45
        assert duration(steps) == 10 + 72 + 90 == 172
        assert script(steps) == [
            "get_ready squat 10",
            "work squat 24",
            "rest 45",
            "work squat 24",
            "rest 45",
            "work squat 24",
        ]

    def test_straight_slots_finish_all_rounds_before_the_next(self):
        steps = timeline(
            [
                straight(
                    slot("bridge", seconds(20), rest=15),
                    slot("plank", seconds(15)),
                    rounds=2,
                    rest=30,
                )
            ]
        )
        # 10 ready + (20 + 30 + 20) bridge + 15 breather + 5 on + (15 + 30 + 15) plank
        assert duration(steps) == 10 + 70 + 15 + 5 + 60 == 160
        assert script(steps) == [
            "get_ready bridge 10",
            "work bridge 20",
            "rest 30",
            "work bridge 20",
            "breather 15",
            "move_on plank 5",
            "work plank 15",
            "rest 30",
            "work plank 15",
        ]

    def test_superset_rounds_alternate(self):
        steps = timeline(
            [
                superset(
                    slot("squat", repetitions(8)), slot("push", repetitions(6)), rounds=2, rest=30
                )
            ]
        )
        # 10 ready + 2 × (24 squat + 10 breather + 5 on + 18 push) + 30 rest + 5 on
        assert duration(steps) == 10 + 2 * 57 + 35 == 159
        assert script(steps) == [
            "get_ready squat 10",
            "work squat 24",
            "breather 10",
            "move_on push 5",
            "work push 18",
            "rest 30",
            "move_on squat 5",
            "work squat 24",
            "breather 10",
            "move_on push 5",
            "work push 18",
        ]

    def test_each_side_is_its_own_step(self):
        steps = timeline([straight(slot("split", repetitions(8, Sides.EACH, "2-0-1-0")))])
        # 10 ready + 8 × 3 left + 4 change + 8 × 3 right
        assert duration(steps) == 10 + 24 + 4 + 24 == 62
        assert script(steps)[1:] == [
            "work split left 24",
            "change_side split right 4",
            "work split right 24",
        ]

    def test_alternating_sides_stay_in_one_step(self):
        steps = timeline([straight(slot("lunge", repetitions(10, Sides.ALTERNATING)))])
        # 10 ready + 10 × 3
        assert script(steps) == ["get_ready lunge 10", "work lunge 30"]

    def test_two_rounds_of_holds_each_side(self):
        steps = timeline([straight(slot("brace", seconds(10, Sides.EACH)), rounds=2, rest=20)])
        # 10 ready + 2 × (10 + 4 + 10) + 20 rest
        assert duration(steps) == 10 + 48 + 20 == 78

    def test_a_crawling_lane_goes_at_the_pace(self):
        steps = timeline([straight(slot("crawl", metres(8)), rounds=3, rest=15)])
        # 10 ready + 3 × (8 × 2.5) + 2 × 15
        assert duration(steps) == 10 + 60 + 30 == 100

    def test_fast_lifting_is_rounded_up_once_per_bout(self):
        steps = timeline([straight(slot("jump", repetitions(5, tempo="2-0-X-0")))])
        # 10 ready + 5 × (2 + ½) = 12½, so 13
        assert duration(steps) == 10 + 13

    def test_a_circuit_of_three_with_its_own_breathers(self):
        steps = timeline(
            [
                circuit(
                    slot("skip", seconds(15), rest=20),
                    slot("crawl", metres(8), rest=5),
                    slot("reach", repetitions(6), rest=99),
                    rounds=2,
                    rest=40,
                )
            ]
        )
        # A round: 15 + 20 + 5 on + 20 + 5 + 5 on + 18 = 88; the last slot's breather is never due.
        # 10 ready + 2 × 88 + 40 rest + 5 on
        assert duration(steps) == 10 + 176 + 45 == 231

    def test_a_drink_between_parts_and_ready_for_each(self):
        steps = timeline(
            [
                straight(slot("skip", seconds(60)), key="warm-up"),
                straight(slot("squat", repetitions(10)), key="strength"),
                straight(slot("breathe", seconds(90)), key="cool-down"),
            ]
        )
        # warm-up 10 + 60 and its drink 20; strength 10 + 30 and its drink 20; cool-down 10 + 90
        assert part_durations(steps) == {"warm-up": 90, "strength": 60, "cool-down": 100}
        assert duration(steps) == 250
        assert spent(steps)[Spending.WORK] == 60 + 30 + 90
        assert [(s.part_key, s.slot_key) for s in steps if s.kind is StepKind.DRINK] == [
            ("warm-up", None),
            ("strength", None),
        ]

    def test_no_breather_and_no_rest_leave_only_the_way_to_the_next(self):
        steps = timeline(
            [superset(slot("a", seconds(10), rest=0), slot("b", seconds(10), rest=0), rounds=2)]
        )
        # 10 ready + 4 × 10 + 3 × 5 on
        assert duration(steps) == 10 + 40 + 15 == 65
        assert {s.kind for s in steps} == {StepKind.GET_READY, StepKind.WORK, StepKind.MOVE_ON}

    def test_rounds_without_rest_follow_on(self):
        steps = timeline([straight(slot("plank", seconds(10)), rounds=3)])
        assert script(steps) == ["get_ready plank 10"] + ["work plank 10"] * 3
        assert [s.round for s in steps] == [1, 1, 2, 3]

    def test_a_program_may_set_its_own_pace(self):
        brisk = Pace(
            get_ready=5,
            change_side=2,
            move_on=3,
            breather=0,
            drink=0,
            seconds_per_metre=1,
            seconds_per_repetition=2,
        )
        steps = timeline(
            [
                superset(
                    slot("lunge", repetitions(5, Sides.EACH)), slot("run", metres(20)), key="a"
                ),
                straight(slot("plank", seconds(30)), key="b"),
            ],
            brisk,
        )
        # 5 + (10 + 2 + 10) + 3 + 20, no drink, 5 + 30
        assert duration(steps) == 50 + 35
        assert StepKind.DRINK not in {s.kind for s in steps}

    def test_a_hundred_rounds(self):
        steps = timeline(
            [superset(slot("a", seconds(10)), slot("b", seconds(5)), rounds=100, rest=5)]
        )
        # 10 ready + 100 × (10 + 10 + 5 on + 5) + 99 × (5 rest + 5 on)
        assert duration(steps) == 10 + 3000 + 990 == 4000
        assert steps[-1].round == steps[-1].rounds == 100


class TestWhereAStepBelongs:
    def test_a_rest_belongs_to_the_round_before_and_the_way_on_to_the_round_after(self):
        steps = timeline(
            [superset(slot("a", seconds(9)), slot("b", seconds(9)), rounds=2, rest=30)]
        )
        rest = next(s for s in steps if s.kind is StepKind.REST)
        on = steps[steps.index(rest) + 1]
        assert (rest.slot_key, rest.round) == (None, 1)
        assert (on.kind, on.slot_key, on.round) == (StepKind.MOVE_ON, "a", 2)

    def test_a_breather_belongs_to_the_round_before_it(self):
        steps = timeline([straight(slot("a", seconds(9)), slot("b", seconds(9)), rounds=3)])
        breather = next(s for s in steps if s.kind is StepKind.BREATHER)
        on = steps[steps.index(breather) + 1]
        assert (breather.slot_key, breather.round) == (None, 3)
        assert (on.slot_key, on.round) == ("b", 1)

    def test_the_side_of_a_change_is_the_one_to_come(self):
        steps = timeline([straight(slot("hop", repetitions(3, Sides.EACH)))])
        assert [s.side for s in steps] == [None, Side.LEFT, Side.RIGHT, Side.RIGHT]


class TestCommonPractice:
    """The trade's usual timings; common practice, no published source."""

    @pytest.mark.parametrize(("each_side", "tempo"), [(10, "2-0-1-0"), (8, "3-0-1-0")])
    def test_slow_single_leg_work_with_a_floor_push_is_about_five_minutes(self, each_side, tempo):
        steps = timeline(
            [
                superset(
                    slot("split squat", repetitions(each_side, Sides.EACH, tempo)),
                    slot("floor push", repetitions(8, tempo="2-0-1-0")),
                    rounds=3,
                )
            ]
        )
        # Ten a side: 10 + 3 × (30 + 4 + 30 + 10 + 5 + 24) + 2 × 5 = 329 s, 5:29.
        # Eight a side, slower: 10 + 3 × (32 + 4 + 32 + 10 + 5 + 24) + 2 × 5 = 341 s, 5:41.
        # About five minutes: within one minute of it.
        assert duration(steps) == pytest.approx(5 * 60, abs=60)

    def test_where_the_minutes_go_adds_up_to_the_total_and_so_do_the_parts(self):
        parts = [
            straight(slot("skip", seconds(60)), key="warm-up"),
            superset(
                slot("step", Dose(Measure.SECONDS, 20, Sides.EACH)),
                slot("row", seconds(30)),
                rounds=2,
                rest=45,
                key="strong",
            ),
        ]
        steps = timeline(parts)
        # Ready 10, skip 60, drink 20. Ready 10; twice: 20 + 4 to change side + 20, breather 10,
        # move on 5, row 30; between the rounds rest 45 and move on 5.
        assert spent(steps) == {
            Spending.WORK: 60 + 2 * (40 + 30),
            Spending.SIDES: 2 * 4,
            Spending.CHANGES: 10 + 10 + 2 * 5 + 5,
            Spending.RESTS: 2 * 10 + 45,
            Spending.BETWEEN: 20,
        }
        assert part_durations(steps) == {"warm-up": 90, "strong": 10 + 2 * 89 + 50}
        assert sum(spent(steps).values()) == duration(steps) == 328
        assert sum(part_durations(steps).values()) == 328

    def test_a_home_session_is_about_twenty_minutes_with_six_of_warm_up(self):
        steps = timeline(
            [
                circuit(
                    slot("skip", seconds(15)),
                    slot("crawl", metres(8)),
                    slot("squat and reach", repetitions(6)),
                    slot("lunge", repetitions(8, Sides.ALTERNATING)),
                    slot("hip circles", repetitions(5, Sides.EACH)),
                    rounds=2,
                    key="warm-up",
                ),
                superset(
                    slot("split squat", repetitions(8, Sides.EACH, "2-0-1-0")),
                    slot("floor push", repetitions(8)),
                    rounds=3,
                    key="legs and push",
                ),
                superset(
                    slot("hamstring slide", repetitions(6, tempo="3-0-1-0")),
                    slot("side brace", seconds(10, Sides.EACH)),
                    rounds=3,
                    key="back of the legs and sides",
                ),
                superset(
                    slot("drop landing", repetitions(5)),
                    slot("calf raise", repetitions(10, Sides.EACH, "2-0-1-0")),
                    rounds=3,
                    key="landing and calves",
                ),
            ]
        )
        # Warm-up, a round: 15 + 20 + 18 + 24 + (15 + 4 + 15) and 4 × (10 + 5) between = 171.
        #   10 + 2 × 171 + 5 on + 20 drink = 377, 6:17
        # Legs and push: 10 + 3 × ((24 + 4 + 24) + 15 + 24) + 2 × 5 + 20 = 313
        # Back of the legs: 10 + 3 × (24 + 15 + (10 + 4 + 10)) + 2 × 5 + 20 = 229
        # Landing, calves: 10 + 3 × (15 + 15 + (30 + 4 + 30)) + 2 × 5 = 302
        #   377 + 313 + 229 + 302 = 1221, 20:21
        # About twenty and about six: within two minutes and within one.
        assert list(part_durations(steps).values()) == [377, 313, 229, 302]
        assert duration(steps) == pytest.approx(20 * 60, abs=120)
        assert part_durations(steps)["warm-up"] == pytest.approx(6 * 60, abs=60)


class TestRefusals:
    def test_a_part_has_at_least_one_round(self):
        with pytest.raises(ValueError, match="at least 1 round"):
            straight(slot("a", seconds(5)), rounds=0)

    def test_rest_cannot_run_backwards(self):
        with pytest.raises(ValueError, match="A rest cannot last -1"):
            straight(slot("a", seconds(5)), rest=-1)
        with pytest.raises(ValueError, match="A breather cannot last -5"):
            slot("a", seconds(5), rest=-5)


class TestSettingUp:
    def test_what_has_to_be_set_up_takes_its_time_and_is_got_ready_for_anew(self):
        steps = timeline(
            [straight(slot("plank", seconds(20)), slot("row", repetitions(8), set_up=90))]
        )
        # 10 ready + 20 plank + 10 breather + 90 set up + 10 ready, since nobody stands there yet
        # (moving on would take 5) + 8 × 3
        assert duration(steps) == 10 + 20 + 10 + 90 + 10 + 24
        assert script(steps)[2:] == [
            "breather 10",
            "set_up row 90",
            "get_ready row 10",
            "work row 24",
        ]

    def test_it_comes_first_in_a_session_and_after_the_drink_in_a_later_part(self):
        row = slot("row", repetitions(8), set_up=60)
        steps = timeline([straight(row, key="a"), straight(slot("row", repetitions(8), set_up=60))])
        once = ["set_up row 60", "get_ready row 10", "work row 24"]
        assert script(steps) == [*once, "drink 20", *once]
        assert part_durations(steps)["part"] == 60 + 10 + 24

    def test_a_watched_exercise_waits_as_long_as_fetching_a_grown_up_takes_at_least(self):
        assert script(timeline([straight(slot("jump", repetitions(5), watched=True))])) == [
            "set_up jump 10",
            "get_ready jump 10",
            "work jump 15",
        ]
        longer = slot("row", repetitions(8), set_up=90, watched=True)
        assert script(timeline([straight(longer)]))[0] == "set_up row 90"

    def test_rounds_with_only_a_rest_between_are_set_up_and_asked_for_once(self):
        row = slot("row", repetitions(8), set_up=90, watched=True)
        steps = timeline([straight(row, rounds=3, rest=30)])
        assert script(steps) == [
            "set_up row 90",
            "get_ready row 10",
            "work row 24",
            "rest 30",
            "work row 24",
            "rest 30",
            "work row 24",
        ]

    def test_in_a_circuit_what_stands_stands_and_the_grown_up_is_asked_for_each_time(self):
        chair = slot("dip", repetitions(8), set_up=40)
        jump = slot("jump", repetitions(5), set_up=20, watched=True)
        steps = timeline([circuit(chair, jump, rounds=2, rest=30)])
        assert script(steps) == [
            "set_up dip 40",
            "get_ready dip 10",
            "work dip 24",
            "breather 10",
            "set_up jump 20",
            "get_ready jump 10",
            "work jump 15",
            "rest 30",
            "move_on dip 5",
            "work dip 24",
            "breather 10",
            "set_up jump 10",
            "get_ready jump 10",
            "work jump 15",
        ]

    def test_setting_up_is_no_work(self):
        row = slot("row", repetitions(8), set_up=90, watched=True)
        assert spent(timeline([straight(row)]))[Spending.WORK] == 24

    def test_setting_up_takes_no_less_than_nothing(self):
        with pytest.raises(ValueError, match="set up"):
            slot("row", repetitions(8), set_up=-1)
