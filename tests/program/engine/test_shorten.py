"""A session brought to a number of minutes, added up by hand.

At the junior's pace: get ready 10 s, change side 4, move on 5, breather 10, drink 20; a repetition
without a tempo 3 s.
"""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from program.engine.dose.dose import Dose, DoseRange, Measure, Sides
from program.engine.outline import is_work
from program.engine.shorten import LEAST_BREATHER, LEAST_REST, Lever, brought_to
from program.engine.timeline import PartKind, TimedPart, TimedSlot, duration, timeline

RANGE = DoseRange(5, 8, 12)


def squats(amount=8, key="squat", sides=Sides.BOTH, rest=None) -> TimedSlot:
    return TimedSlot(key, key.capitalize(), Dose(Measure.REPETITIONS, amount, sides), rest)


def part(*slots, kind=PartKind.SUPERSET, rounds=1, rest=0, key="strong") -> TimedPart:
    return TimedPart(key, key.capitalize(), kind, rounds, rest, slots)


def proposed(parts, seconds, ranges=None):
    found = brought_to(parts, {"squat": RANGE, "row": RANGE} if ranges is None else ranges, seconds)
    changes = [
        (each.lever, each.key, each.before, each.after, each.seconds) for each in found.changes
    ]
    return found.seconds_after, found.reaches, changes


def test_a_dose_gives_way_by_as_much_as_is_needed_and_no_more():
    # Ready 10 and 8 × 3 = 34 s; 28 s leave room for 18 s of work: 6 repetitions.
    assert proposed([part(squats())], 28) == (28, True, [(Lever.DOSE, "squat", 8, 6, -6)])


def test_what_is_taken_is_spread_over_the_session():
    # Ready 10, 24, breather 10, move on 5, 24: 73 s. Each gives two repetitions.
    seconds, reaches, changes = proposed([part(squats(), squats(key="row"))], 61)
    assert (seconds, reaches) == (61, True)
    assert changes == [(Lever.DOSE, "squat", 8, 6, -6), (Lever.DOSE, "row", 8, 6, -6)]


def test_rests_and_rounds_give_way_where_doses_must_not():
    # Ready 10, 24, rest 30, 24: 88 s. Without a range no dose is touched.
    twice = [part(squats(), rounds=2, rest=30)]
    assert proposed(twice, 78, {}) == (78, True, [(Lever.REST, "strong", 30, 20, -10)])
    # A round more: 142 s. One goes, with its rest of 30.
    thrice = [part(squats(), rounds=3, rest=30)]
    assert proposed(thrice, 90, {}) == (88, True, [(Lever.ROUNDS, "strong", 3, 2, -54)])


def test_never_below_the_least_and_then_it_says_that_it_cannot():
    # 10 s to get ready, one round of five repetitions: 25 s is all it can come to.
    seconds, reaches, changes = proposed([part(squats(), rounds=2, rest=20)], 20)
    assert (seconds, reaches) == (25, False)
    assert [(lever, after) for lever, _, _, after, _ in changes if lever is not Lever.REST] == [
        (Lever.ROUNDS, 1),
        (Lever.DOSE, 5),
    ]


def test_where_it_cannot_come_so_low_it_comes_as_low_as_it_can():
    # 10 + 3 × 24; five repetitions thrice would be nearer to what is written, once is shorter.
    assert proposed([part(squats(), rounds=3)], 20)[:2] == (25, False)


def test_what_is_written_below_the_least_already_stays():
    assert proposed([part(squats(3))], 12) == (19, False, [])


def test_swapping_sides_keep_an_even_number():
    # 10 + 24; one repetition less would do, but both sides are to have as many.
    swapping = [part(squats(sides=Sides.ALTERNATING))]
    assert proposed(swapping, 31) == (28, True, [(Lever.DOSE, "squat", 8, 6, -6)])


def test_what_is_given_back_never_goes_beyond_what_is_written():
    # Twice 13 by 3 s, swapping sides, and ten to get ready: 88 s. On the way down it was 12 and 10
    # before a round went; two by two it would come back as 14. One round of 13 is 49 s.
    swapping = [part(squats(13, sides=Sides.ALTERNATING), rounds=2)]
    ranges = {"squat": DoseRange(5, 10, 20)}
    assert proposed(swapping, 53, ranges) == (49, True, [(Lever.ROUNDS, "strong", 2, 1, -39)])


def test_the_warm_up_is_left_alone_until_nothing_else_is_left():
    warm_up = part(squats(key="row"), kind=PartKind.WARM_UP, key="warm")
    both = [warm_up, part(squats())]
    # 34, a drink of 20, 34: 88. The squats may give three repetitions, 9 s; only then the warm-up.
    assert proposed(both, 79) == (79, True, [(Lever.DOSE, "squat", 8, 5, -9)])
    assert proposed(both, 76)[2] == [(Lever.DOSE, "row", 8, 7, -3), (Lever.DOSE, "squat", 8, 5, -9)]


def test_a_session_is_stretched_up_to_the_most_and_its_warm_up_is_not():
    warm_up = part(squats(key="row"), kind=PartKind.WARM_UP, key="warm")
    # 88 s; a repetition is 3 s, so 93 s have room for one more.
    assert proposed([warm_up, part(squats())], 93) == (91, True, [(Lever.DOSE, "squat", 8, 9, 3)])


def test_a_session_that_lasts_as_long_as_is_wanted_is_not_touched():
    assert proposed([part(squats())], 34) == (34, True, [])


def test_a_session_with_nothing_in_it_cannot_be_stretched():
    assert proposed([], 600) == (0, False, [])


slots = st.builds(
    TimedSlot,
    key=st.text("abc", min_size=3, max_size=3),
    name=st.just("x"),
    dose=st.builds(
        Dose,
        measure=st.sampled_from(Measure),
        amount=st.integers(1, 40),
        sides=st.sampled_from(Sides),
    ),
    rest_seconds=st.none() | st.integers(0, 60),
)
parts = st.builds(
    TimedPart,
    key=st.just(""),
    name=st.just("part"),
    kind=st.sampled_from(PartKind),
    rounds=st.integers(1, 4),
    rest_seconds=st.integers(0, 60),
    slots=st.lists(slots, max_size=3, unique_by=lambda slot: slot.key).map(tuple),
)


def applied(written, changes):
    """The parts with the changes made."""
    made = {(each.key, each.lever): each.after for each in changes}
    for one in written:
        slots = tuple(
            replace(
                slot,
                dose=replace(slot.dose, amount=made.get((slot.key, Lever.DOSE), slot.dose.amount)),
                rest_seconds=made.get((slot.key, Lever.BREATHER), slot.rest_seconds),
            )
            for slot in one.slots
        )
        rounds = made.get((one.key, Lever.ROUNDS), one.rounds)
        rest = made.get((one.key, Lever.REST), one.rest_seconds)
        yield replace(one, slots=slots, rounds=rounds, rest_seconds=rest)


def with_own_keys(written):
    return [
        replace(
            one,
            key=f"part {nth}",
            slots=tuple(replace(slot, key=f"{nth} {slot.key}") for slot in one.slots),
        )
        for nth, one in enumerate(written)
    ]


@given(st.lists(parts, max_size=3).map(with_own_keys), st.integers(0, 1500))
def test_a_proposal_does_what_it_says_or_says_that_it_cannot(written, seconds):
    ranges = {slot.key: DoseRange(5, 10, 20) for one in written for slot in one.slots}
    found = brought_to(written, ranges, seconds)
    became = list(applied(written, found.changes))
    assert duration(timeline(written)) == found.seconds_before
    assert duration(timeline(became)) == found.seconds_after
    assert sum(each.seconds for each in found.changes) == found.seconds_after - found.seconds_before
    assert found == brought_to(written, ranges, seconds)
    if found.reaches:
        assert found.seconds_after <= seconds
    is_shorter = found.seconds_before > seconds
    assert is_shorter or found.seconds_before <= found.seconds_after <= seconds
    for each in found.changes:
        assert (each.after < each.before) == is_shorter
        least = {
            Lever.ROUNDS: 1,
            Lever.DOSE: 5,
            Lever.REST: LEAST_REST,
            Lever.BREATHER: LEAST_BREATHER,
        }
        assert each.after >= least[each.lever] or not is_shorter
    if is_shorter and not found.reaches:
        assert found.seconds_after == brought_to(written, ranges, 0).seconds_after
    left_alone = [one for one, new in zip(written, became, strict=True) if one == new]
    if found.reaches and not is_shorter:
        assert all(one in left_alone for one in written if not is_work(one))
