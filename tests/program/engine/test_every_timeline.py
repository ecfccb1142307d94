"""What holds for every session at every pace."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from program.engine.dose.dose import LIMITS
from program.engine.pace import Pace
from program.engine.timeline import (
    PartKind,
    Spending,
    StepKind,
    TimedPart,
    TimedSlot,
    duration,
    part_alone,
    part_durations,
    parts_together,
    spent,
    timeline,
)
from tests.support.engine_strategies import doses

rests = st.integers(0, 60)
paces = st.builds(
    Pace,
    get_ready=rests,
    change_side=rests,
    move_on=rests,
    breather=rests,
    drink=rests,
    fetch_a_grown_up=rests,
    seconds_per_metre=st.floats(0.1, 10),
    seconds_per_fast_phase=st.floats(0.1, 2),
    seconds_per_repetition=st.floats(0.1, 10),
)


@st.composite
def sessions(draw):
    return tuple(
        TimedPart(
            key=f"part {number}",
            name="",
            kind=draw(st.sampled_from(PartKind)),
            rounds=draw(st.integers(1, 4)),
            rest_seconds=draw(rests),
            slots=tuple(
                TimedSlot(
                    f"{number}.{letter}",
                    "",
                    draw(doses),
                    draw(st.none() | rests),
                    draw(rests),
                    draw(st.booleans()),
                )
                for letter in range(draw(st.integers(0, 3)))
            ),
        )
        for number in range(draw(st.integers(0, 3)))
    )


class TestEverySession:
    @given(sessions(), paces)
    def test_starts_at_nothing_and_has_neither_gap_nor_empty_step(self, parts, pace):
        steps = timeline(parts, pace)
        assert all(before.end == after.start for before, after in pairwise(steps))
        assert all(s.start < s.end for s in steps)
        assert not steps or steps[0].start == 0

    @given(sessions(), paces)
    def test_lasts_as_long_as_its_steps_and_its_parts(self, parts, pace):
        steps = timeline(parts, pace)
        assert duration(steps) == sum(s.seconds for s in steps)
        assert duration(steps) == sum(part_durations(steps).values())
        assert duration(steps) == max((s.end for s in steps), default=0)

    @given(sessions(), paces)
    def test_lasts_as_long_as_its_parts_by_themselves_with_a_drink_between(self, parts, pace):
        alone = (part_alone(part, pace) for part in parts)
        assert parts_together(alone, pace) == duration(timeline(parts, pace))

    @given(sessions(), paces)
    def test_does_every_round_of_every_slot_on_every_side_exactly_once(self, parts, pace):
        done = Counter(
            (s.part_key, s.slot_key, s.round, s.side)
            for s in timeline(parts, pace)
            if s.kind is StepKind.WORK
        )
        assert done == Counter(
            (part.key, placed.key, round_, side)
            for part in parts
            for placed in part.slots
            for round_ in range(1, part.rounds + 1)
            for side in placed.dose.sides.bouts
        )

    @given(sessions(), paces)
    def test_works_as_long_as_its_doses_say(self, parts, pace):
        assert spent(timeline(parts, pace))[Spending.WORK] == sum(
            part.rounds * placed.dose.work_seconds(pace) for part in parts for placed in part.slots
        )

    @given(sessions(), paces, st.data())
    def test_never_gets_shorter_by_doubling_an_amount(self, parts, pace, data):
        def doubled(placed):
            most = LIMITS[placed.dose.measure].high
            amount = min(2 * placed.dose.amount, most)
            return replace(placed, dose=replace(placed.dose, amount=amount))

        chosen = data.draw(st.integers(0, len(parts)))
        more = tuple(
            replace(part, slots=tuple(map(doubled, part.slots))) if number == chosen else part
            for number, part in enumerate(parts)
        )
        assert duration(timeline(more, pace)) >= duration(timeline(parts, pace))

    @given(sessions(), paces)
    def test_never_ends_on_anything_but_work(self, parts, pace):
        steps = timeline(parts, pace)
        assert not steps or steps[-1].kind is StepKind.WORK

    @given(sessions(), paces)
    def test_rests_only_between_work_and_never_twice_in_a_row(self, parts, pace):
        resting = {StepKind.BREATHER, StepKind.REST, StepKind.DRINK}
        kinds = [s.kind for s in timeline(parts, pace)]
        assert not any(a in resting and b in resting for a, b in pairwise(kinds))

    @given(sessions(), paces)
    def test_every_exercise_is_set_up_in_full_once_in_its_part(self, parts, pace):
        longest = Counter()
        for s in timeline(parts, pace):
            if s.kind is StepKind.SET_UP:
                longest[s.slot_key] = max(longest[s.slot_key], s.seconds)
        assert longest == Counter(
            {
                placed.key: seconds
                for part in parts
                for placed in part.slots
                if (seconds := placed.set_up(pace, is_again=False))
            }
        )
