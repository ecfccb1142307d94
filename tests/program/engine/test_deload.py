"""A session made lighter: worked by hand, and true of any session."""

from hypothesis import given
from hypothesis import strategies as st

from program.engine.deload import lighter, work_of
from program.engine.dose.dose import Measure, Sides
from program.engine.outline import PartOutline, SessionOutline, SlotOutline, is_work
from program.engine.prescription import Prescription
from program.engine.timeline import PartKind
from tests.support.engine_fitting import exercise, library_of

LIBRARY = library_of(
    squat=exercise("squat", low=5, usual=8, high=12),
    hop=exercise("hop", low=3, usual=5, high=8, contacts=1, pattern="jump"),
    plank=exercise("plank", low=10, usual=20, high=40, measure=Measure.SECONDS),
    march=exercise("march", low=6, usual=10, high=20, sides=Sides.ALTERNATING),
    split=exercise("split", low=4, usual=6, high=10, sides=Sides.EACH),
)


def slot(slug, amount):
    return SlotOutline(slug, Prescription(amount))


KINDS = {"Warm-up": PartKind.WARM_UP, "Cool-down": PartKind.COOL_DOWN}


def part(rounds, *slots, name="Strong"):
    return PartOutline(name, KINDS.get(name, PartKind.SUPERSET), rounds, 30, slots)


def session(*parts):
    return SessionOutline("Monday", "home", 25, "", parts)


def made(written, share=60, **more):
    """Rounds and amounts of each part."""
    parts = lighter(written, LIBRARY, share, **more).parts
    return [(one.rounds, [each.prescription.amount for each in one.slots]) for one in parts]


def test_a_session_to_sixty_percent_gives_up_a_round_of_each_part_first_and_then_repetitions():
    # A squat takes 3 seconds, a hop as long, a plank its seconds.
    # Strong: 3 × (24 + 30) = 162; 60 % are 97.2. Two rounds are 108; the plank goes from 30 to 27,
    # then the squats from 8 to 7, of which more is left than of a plank of 26: 2 × (21 + 27) = 96.
    # Jumps: 2 × 15 = 30; 60 % are 18. Two rounds of 3 are 18, and one round of 5 would be 15.
    written = session(
        part(2, slot("plank", 10), name="Warm-up"),
        part(3, slot("squat", 8), slot("plank", 30)),
        part(2, slot("hop", 5), name="Jumps"),
        part(1, slot("plank", 40), name="Cool-down"),
    )
    assert made(written) == [(2, [10]), (2, [7, 27]), (2, [3]), (1, [40])]


def test_of_two_exercises_of_a_round_the_one_that_keeps_most_of_itself_gives_first():
    # One round: 36 + 24 = 60 seconds of work; 60 % are 36. A squat less leaves 11 of 12, more than
    # 7 of 8. Down to 7 squats and 5 marches … swapping sides goes in twos: 21 + 18 = 39, then 5
    # squats would be under the 6 that are left: 18 + 18 = 36.
    assert made(session(part(1, slot("squat", 12), slot("march", 8)))) == [(1, [6, 6])]


def test_where_one_part_cannot_go_lower_the_others_go_lower():
    # 12 seconds of marching are 6 × 3 = 18, the least. 3 × 24 = 72 of squats. 90 in all; 54 are
    # asked for. 18 stay, so squats come to 36: 2 rounds of 6.
    written = session(part(1, slot("march", 6), name="March"), part(3, slot("squat", 8)))
    assert made(written) == [(1, [6]), (2, [6])]


def test_where_a_round_less_would_be_too_little_everywhere_one_part_keeps_its_rounds():
    # Squats take 3 seconds and are used from 5 up: 3 × 2 × 18 = 108; 60 % are 64.8. A round of
    # each is 54, two rounds of 5 are 90; two rounds of 5 in the first alone are 30 + 18 + 18 = 66.
    squats = [part(2, slot("squat", 6)) for _ in range(3)]
    assert made(session(*squats)) == [(2, [5]), (1, [6]), (1, [6])]


def test_a_session_at_its_least_stays_and_one_written_below_the_range_is_not_raised():
    written = session(part(1, slot("squat", 3), slot("hop", 3)))
    assert made(written) == [(1, [3, 3])]


def test_landings_come_down_with_the_rest():
    # 3 × 6 hops are 18 contacts; 60 % are 10.8. Two rounds of 5 are 10, of 6 twelve: 10 is nearer.
    assert made(session(part(3, slot("hop", 6)))) == [(2, [5])]


def test_an_exercise_that_is_not_in_the_library_any_more_keeps_its_dose_and_loses_rounds():
    assert made(session(part(5, slot("gone", 9)))) == [(3, [9])]


def test_warm_ups_and_cool_downs_give_too_where_the_coach_says_so_each_by_itself():
    # 60 % of 40 seconds are 24; together with the other 48 of 80.
    held = [part(1, slot("plank", 40), name=name) for name in ("Warm-up", "Cool-down")]
    written = session(*held)
    assert made(written) == [(1, [40]), (1, [40])]
    assert made(written, also={PartKind.WARM_UP}) == [(1, [24]), (1, [40])]
    assert made(written, also={PartKind.COOL_DOWN}) == [(1, [40]), (1, [24])]
    assert made(written, also=set(KINDS.values())) == [(1, [24]), (1, [24])]


slots = st.builds(slot, st.sampled_from([*LIBRARY.by_slug, "gone"]), st.integers(1, 60))
sessions = st.lists(
    st.builds(
        lambda name, rounds, some: part(rounds, *some, name=name),
        st.sampled_from(["Warm-up", "Strong", "Jumps"]),
        st.integers(1, 6),
        st.lists(slots, min_size=1, max_size=3),
    ),
    max_size=3,
).map(lambda parts: session(*parts))
shares = st.integers(1, 100)


def least(slot):
    known = LIBRARY.by_slug.get(slot.exercise)
    amount = slot.prescription.amount
    return amount if known is None else min(amount, known.amounts.low)


def is_at_its_least(one):
    """Whether no round and no dose can go; two less of what swaps sides may be too many."""
    return one.rounds == 1 and all(
        each.prescription.amount - least(each) <= (each.exercise == "march") for each in one.slots
    )


@given(sessions, shares)
def test_nothing_falls_below_its_least_and_nothing_grows(written, share):
    became = lighter(written, LIBRARY, share)
    for old, new in zip(written.parts, became.parts, strict=True):
        if not is_work(old):
            assert new == old
        assert 1 <= new.rounds <= old.rounds
        for before, after in zip(old.slots, new.slots, strict=True):
            assert least(before) <= after.prescription.amount <= before.prescription.amount
            assert after.exercise == before.exercise


@given(sessions, shares, shares)
def test_a_smaller_share_never_leaves_more_work(written, one, other):
    low, high = sorted((one, other))
    assert work_of(lighter(written, LIBRARY, low), LIBRARY) <= work_of(
        lighter(written, LIBRARY, high), LIBRARY
    )


@given(sessions, shares)
def test_the_work_comes_within_a_rounding_of_the_share_unless_everything_is_at_its_least(
    written, share
):
    became = lighter(written, LIBRARY, share)
    counted = [one for one in written.parts if is_work(one)]
    wanted = sum(work_of(session(one), LIBRARY) for one in counted) * share / 100
    left = [one for one in became.parts if is_work(one)]
    got = sum(work_of(session(one), LIBRARY) for one in left)
    # A rounding: one round of the largest part.
    rounds = [work_of(session(one), LIBRARY) / one.rounds for one in counted]
    rounding = max(rounds, default=0)
    if not all(map(is_at_its_least, left)):
        assert got <= wanted + rounding
    assert got >= wanted - rounding


@given(sessions)
def test_the_whole_of_it_is_the_session_as_it_was(written):
    assert lighter(written, LIBRARY, 100) == written
