"""The limits that nothing may break: restrictions, age, kit, what is in use, landings."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.body import LEG, Region, RestrictionKind, Side
from library.landing import LANDING_PATTERNS, ContactClass
from library.usual_home import USUAL_HOME_KIT
from program.engine.fit.fitting import fit_session
from program.engine.fit.library import Need
from program.engine.fit.limits import HardLimits, Restriction
from program.engine.fit.reasons import ReasonCode, for_coach, for_family
from tests.support.engine_fitting import (
    child,
    exercise,
    exercises,
    library_of,
    pathway,
    slot,
)

NO_LANDING, NO_LOADING, NOTHING = RestrictionKind

JUMP = exercise("jump", contacts=1, loads={Region.KNEE, Region.ANKLE}, moves={Region.SHOULDER})
BUNNY_HOP = exercise("bunny-hop", contacts=1, loads={Region.WRIST_HAND, Region.KNEE})
SQUAT = exercise("squat", loads={Region.KNEE}, moves={Region.ANKLE})
PLANK = exercise("plank", loads={Region.SHOULDER, Region.WRIST_HAND})


class TestRestrictions:
    @pytest.mark.parametrize(
        ("region", "kind", "ruled_out"),
        [
            # A landing goes up the legs and the spine to the head, whatever the loads say.
            (Region.KNEE, NO_LANDING, {"jump", "bunny-hop"}),
            (Region.FOOT, NO_LANDING, {"jump", "bunny-hop"}),
            (Region.LOWER_BACK, NO_LANDING, {"jump", "bunny-hop"}),
            (Region.HEAD_NECK, NO_LANDING, {"jump", "bunny-hop"}),
            # An arm is landed on only where it carries load.
            (Region.WRIST_HAND, NO_LANDING, {"bunny-hop"}),
            (Region.SHOULDER, NO_LANDING, set()),
            # No loading is no landing and more.
            (Region.KNEE, NO_LOADING, {"jump", "bunny-hop", "squat"}),
            (Region.ANKLE, NO_LOADING, {"jump", "bunny-hop"}),
            (Region.WRIST_HAND, NO_LOADING, {"bunny-hop", "plank"}),
            (Region.SHOULDER, NO_LOADING, {"plank"}),
            # Nothing at all is no loading and no moving.
            (Region.ANKLE, NOTHING, {"jump", "bunny-hop", "squat"}),
            (Region.SHOULDER, NOTHING, {"jump", "plank"}),
            (Region.ELBOW, NOTHING, set()),
        ],
    )
    def test_a_restriction_rules_out_what_its_kind_says(self, region, kind, ruled_out):
        restriction = Restriction(region, kind)
        all_four = [JUMP, BUNNY_HOP, SQUAT, PLANK]
        assert {one.slug for one in all_four if restriction.rules_out(one)} == ruled_out

    @pytest.mark.parametrize("region", Region)
    @pytest.mark.parametrize("exercise", [JUMP, BUNNY_HOP, SQUAT, PLANK], ids=lambda one: one.slug)
    def test_a_stricter_kind_rules_out_no_less(self, region, exercise):
        ruled_out = [Restriction(region, kind).rules_out(exercise) for kind in RestrictionKind]
        assert ruled_out == sorted(ruled_out)

    @pytest.mark.parametrize("side", Side)
    def test_one_side_rules_out_the_whole_exercise(self, side):
        assert Restriction(Region.KNEE, NO_LOADING, side).rules_out(SQUAT)

    def test_the_reason_names_region_side_and_kind(self):
        limits = HardLimits(child(restrictions=(Restriction(Region.KNEE, NO_LOADING, Side.LEFT),)))
        (reason,) = limits.broken_by(SQUAT)
        assert reason[:2] == (ReasonCode.RESTRICTED, "Squat")
        assert (reason.region, reason.side, reason.kind) == (Region.KNEE, Side.LEFT, NO_LOADING)


class TestAge:
    def test_from_the_birthday_on_a_child_is_old_enough(self):
        from_ten = exercise("from-ten", minimum_age=10)
        assert HardLimits(child(age=10)).broken_by(from_ten) == ()
        (reason,) = HardLimits(child(age=9)).broken_by(from_ten)
        assert (reason.code, reason.number) == (ReasonCode.TOO_YOUNG, 10)


class TestKit:
    SLIDE = exercise(
        "slide",
        needs=(
            Need("a smooth floor", frozenset({"smooth-floor"})),
            Need("something that slides", frozenset({"towel", "socks"})),
        ),
    )

    def test_any_one_item_meets_a_need_and_every_need_is_to_be_met(self):
        limits = HardLimits(child(kit=frozenset({"smooth-floor", "socks"})))
        assert limits.broken_by(self.SLIDE) == ()

    def test_each_need_that_is_not_met_is_told(self):
        both = HardLimits(child(kit=frozenset())).broken_by(self.SLIDE)
        assert [reason.need for reason in both] == ["a smooth floor", "something that slides"]
        (floor,) = HardLimits(child(kit=frozenset({"towel"}))).broken_by(self.SLIDE)
        assert floor.need == "a smooth floor"

    def test_a_family_that_has_not_said_is_taken_to_have_what_every_home_has(self):
        (floor,) = HardLimits(child(kit=None)).broken_by(self.SLIDE)
        assert floor.need == "a smooth floor"
        assert "towel" in USUAL_HOME_KIT

    def test_a_family_that_said_nothing_is_at_home_has_nothing(self):
        by_the_wall = exercise("by-the-wall", needs=(Need("a wall", frozenset({"wall"})),))
        assert HardLimits(child(kit=None)).broken_by(by_the_wall) == ()
        assert HardLimits(child(kit=frozenset())).broken_by(by_the_wall)

    def test_a_need_that_no_item_meets_is_never_met(self):
        impossible = exercise("impossible", needs=(Need("a trampoline", frozenset()),))
        everything = child(kit=frozenset({"smooth-floor", "towel", ""}))
        assert HardLimits(everything).broken_by(impossible)


def test_what_was_taken_back_for_everybody_is_for_no_child_and_says_why():
    hop = exercise("hop", recalled="two twisted ankles")
    (reason,) = HardLimits(child()).broken_by(hop)
    assert (reason.code, reason.detail) == (ReasonCode.RECALLED, "two twisted ankles")
    assert for_family(reason) == "Hop was taken back by the coach: two twisted ankles."


def test_what_is_not_in_use_is_not_given():
    (reason,) = HardLimits(child()).broken_by(exercise("old", is_available=False))
    assert reason.code is ReasonCode.RETIRED


def test_all_that_is_in_the_way_is_told_the_body_first():
    limits = HardLimits(child(age=6, restrictions=(Restriction(Region.KNEE, NOTHING),)))
    lunge = exercise(
        "lunge",
        loads={Region.KNEE},
        minimum_age=8,
        needs=(Need("a clear lane", frozenset({"lane-space"})),),
    )
    codes = [reason.code for reason in limits.broken_by(lunge)]
    assert codes == [ReasonCode.RESTRICTED, ReasonCode.TOO_YOUNG, ReasonCode.NEED_UNMET]


@pytest.mark.parametrize(("in_growth_spurt", "ceiling"), [(False, 61), (True, 30)])
def test_a_growth_spurt_halves_the_landings_and_rounds_down(in_growth_spurt, ceiling):
    limits = HardLimits(child(contact_ceiling=61, in_growth_spurt=in_growth_spurt))
    assert limits.contact_ceiling == ceiling


class TestLandingPatterns:
    """The pattern is trusted as well as the number: whoever wrote 0 may have left it at that."""

    STAR_JUMP = exercise("star-jump", pattern="jump", contacts=0, loads={Region.THIGH})

    def test_a_jump_that_gives_no_contacts_is_no_less_a_jump(self):
        spared = child(restrictions=(Restriction(Region.KNEE, NO_LANDING),))
        (reason,) = HardLimits(spared).broken_by(self.STAR_JUMP)
        assert (reason.code, reason.exercise) == (ReasonCode.RESTRICTED, "Star jump")
        assert self.STAR_JUMP.dose(15).ground_contacts == 15

    def test_unless_it_says_why_nothing_lands(self):
        pop = replace(self.STAR_JUMP, no_landing_because="the toes stay on the floor")
        assert not Restriction(Region.KNEE, NO_LANDING).rules_out(pop)
        assert pop.dose(15).ground_contacts == 0

    @given(
        exercises("any"),
        st.sampled_from(sorted(LANDING_PATTERNS)),
        st.sampled_from(LEG),
        st.sampled_from(RestrictionKind),
    )
    def test_no_leg_that_is_spared_meets_a_landing_pattern(self, any_, pattern, region, kind):
        jump = replace(any_, pattern=pattern, no_landing_because="")
        assert Restriction(region, kind).rules_out(jump)
        assert jump.dose(jump.amounts.usual).ground_contacts > 0


def low(contacts: float) -> dict[ContactClass, float]:
    return {ContactClass.LOW: contacts}


DROP = exercise("drop", low=1, high=60, contacts=1, contact_class="from_height")
SNAP_THEN_DROP = library_of(pathway("land", "snap drop"), drop=DROP)


def drops(amount: int, elsewhere: float, **facts):
    """What a child of ceiling 60 gets of three rounds of drops, after so many elsewhere; the step
    below them does not land."""
    landed = {"gymnasts": {ContactClass.FROM_HEIGHT: elsewhere, ContactClass.LOW: 30}}
    written = [slot("drop", amount, rounds=3)]
    (fitted,) = fit_session(written, child(elsewhere=landed, **facts), SNAP_THEN_DROP)
    return fitted


def test_a_quarter_of_a_days_landings_may_come_from_a_height():
    """Of 60 that is 15: three rounds of five, and of three where the gymnasts had six.
    Thirty low ones beside them leave room in all."""
    assert drops(5, 0).given.exercise == "drop"
    assert drops(3, 6).given.exercise == "drop"
    assert drops(4, 6).given.exercise == "snap"
    too_much = drops(5, 1)
    assert too_much.given.exercise == "snap"
    assert for_coach(too_much.reasons[0]) == (
        "drop would pass 15 ground contacts of its kind (from a height) on this day: snap instead"
    )


def test_earlier_slots_count_by_how_hard_they_are():
    """Three rounds of three are 9 of 15, and twice that is 18."""
    twice = [slot("drop", 3, key=key, rounds=3) for key in ("one", "two")]
    first, second = fit_session(twice, child(), SNAP_THEN_DROP)
    assert (first.given.exercise, second.given.exercise) == ("drop", "snap")


def test_what_the_coach_lets_a_child_do_more_stays_within_the_ceiling_of_its_kind():
    """Three rounds of four are 12 of 15 and of five just 15; of six they would be 18."""
    written = [slot("drop", 4, rounds=3)]

    def given(more: int) -> int:
        (fitted,) = fit_session(written, child(more={"drop": more}), SNAP_THEN_DROP)
        return fitted.given.dose.amount

    assert (given(1), given(2)) == (5, 4)


def hops(amount: int, elsewhere: float, **facts):
    """What a child of ceiling 60 gets of so many hops; the step below them does not land."""
    squat_to_hop = pathway("jump", "squat hop")
    library = library_of(squat_to_hop, hop=exercise("hop", high=60, contacts=1))
    one = child(elsewhere={"gymnasts": low(elsewhere)}, **facts)
    (fitted,) = fit_session([slot("hop", amount)], one, library)
    return fitted


def test_forty_landings_with_the_gymnasts_leave_twenty_of_sixty_with_the_runners():
    both = {"gymnasts": low(20) | {ContactClass.HIGH: 10}, "swimmers": low(10)}
    assert HardLimits(child(elsewhere=both)).contacts_left == 20
    assert hops(20, 40).given.exercise == "hop"
    fitted = hops(21, 40)
    assert fitted.given.exercise == "squat"
    assert for_coach(fitted.reasons[0]) == (
        "40 ground contacts in another session that day, and hop would pass 60 together: squat "
        "instead"
    )
    assert for_family(fitted.reasons[0]) == (
        "There are 40 landings in another session that day, so it is squat this time."
    )


def test_a_growth_spurt_halves_the_days_landings_and_what_is_left_of_them():
    """Half of 60 is 30: twenty with the gymnasts leave ten, forty leave none and not fewer."""
    spurt = {"in_growth_spurt": True}
    assert HardLimits(child(elsewhere={"gymnasts": low(20)}, **spurt)).contacts_left == 10
    assert HardLimits(child(elsewhere={"gymnasts": low(40)}, **spurt)).contacts_left == 0
    assert hops(10, 20, **spurt).given.exercise == "hop"
    assert hops(11, 20, **spurt).given.exercise == "squat"


def test_what_is_too_much_by_itself_is_not_put_down_to_another_session():
    assert hops(51, 40, contact_ceiling=50).reasons[0].code is ReasonCode.TOO_MANY_CONTACTS
    assert hops(51, 0, contact_ceiling=50).reasons[0].code is ReasonCode.TOO_MANY_CONTACTS


def test_what_a_coach_lets_a_child_do_more_of_keeps_within_what_is_left():
    assert hops(18, 40, more={"hop": 2}).given.dose.amount == 20
    assert hops(18, 40, more={"hop": 3}).given.dose.amount == 18
