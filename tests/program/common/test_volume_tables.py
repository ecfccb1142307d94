"""Volumes as they are read: figures, lanes on one scale, and what each child will really do."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.models import Child
from library.models import Exercise
from library.tempo import Tempo
from program.blocks.one_child import child_block
from program.common.volume_tables import TALLEST, beside_sheet, volume_sheet, weeks_sheet
from program.engine.dose.dose import Dose, Measure, Sides
from program.engine.volume import Volume, VolumeSlot, volume
from program.fit.child_volumes import child_volumes
from program.models import Session, Slot
from program.publish.publishing import publish
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    ExerciseFactory,
    PartFactory,
    PathwayFactory,
    SessionFactory,
    SlotFactory,
    UserFactory,
)
from tests.support.markup import markup

SPLIT_SQUAT = VolumeSlot(
    "single_leg", Dose(Measure.REPETITIONS, 8, Sides.EACH, Tempo.parse("3-1-1-0")), 3
)
HOLD = VolumeSlot("side_brace", Dose(Measure.SECONDS, 10, Sides.EACH), 2)
HOPS = VolumeSlot("land", Dose(Measure.REPETITIONS, 5, contacts=2), 3)
HINGE = VolumeSlot("hinge", Dose(Measure.REPETITIONS, 8), 1)


def test_a_sheet_has_a_figure_for_each_kind_of_work():
    sheet = volume_sheet(volume([SPLIT_SQUAT, HOLD, HOPS, HINGE]))
    rows = {row.name: row.figures for row in sheet.rows}
    # sets, repetitions, left, right, under tension, holds, metres, contacts
    assert rows["single leg"] == ("3", "48", "24", "24", "240", "", "", "")
    assert rows["side brace"] == ("2", "", "", "", "", "40", "", "")
    # 3 × 5 × 3 s under tension, 3 × 5 × 2 contacts
    assert rows["land"] == ("3", "15", "", "", "45", "", "", "30")
    # 3 + 2 + 3 + 1 sets; 48 + 15 + 8 repetitions; 240 + 45 + 8 × 3 s
    assert sheet.total.figures == ("9", "71", "24", "24", "309", "40", "", "30")
    assert [row.name for row in sheet.rows] == ["land", "single leg", "side brace", "hinge"]


def test_a_balance_is_a_share_of_sets():
    push_pull, knee_hip, both_one = volume_sheet(volume([SPLIT_SQUAT, HOPS, HINGE])).balances
    assert (str(push_pull.ratio), push_pull.percent) == ("0 : 0", None)
    assert (str(knee_hip.ratio), knee_hip.percent) == ("3 : 1", 75.0)
    # Hops and hinges on both legs, 3 + 1; split squats on one, 3.
    assert (str(both_one.ratio), both_one.percent) == ("4 : 3", 57.14)


def test_the_lanes_of_a_block_share_one_scale():
    sheet = weeks_sheet([volume([SPLIT_SQUAT, HINGE]), volume([SPLIT_SQUAT] * 2), Volume()])
    lanes = {lane.name: [(bar.shown, bar.percent) for bar in lane.bars] for lane in sheet.lanes}
    assert lanes == {
        "single leg": [("3", 50.0), ("6", 100.0), ("", 0.0)],
        "hinge": [("1", 16.67), ("", 0.0), ("", 0.0)],
    }
    assert [bar.shown for bar in sheet.balances[1].bars] == ["3 : 1", "6 : 0", ""]
    assert {lane.name for lane in sheet.measures} == {
        "sets",
        "repetitions",
        "of them left",
        "of them right",
        "seconds under tension",
    }
    assert [bar.shown for bar in sheet.measures[0].bars] == ["4", "6", ""]
    for lane in sheet.lanes:
        assert all(bar.top + bar.height == pytest.approx(TALLEST) for bar in lane.bars)


def test_a_childs_weeks_stand_beside_the_written_ones_on_one_scale():
    own, written = [volume([HINGE]), Volume()], [volume([SPLIT_SQUAT, HINGE]), volume([HINGE] * 2)]
    sheet = beside_sheet(own, written)
    told = {
        lane.name: [(week.own.shown, week.written.shown, week.is_the_same) for week in lane.weeks]
        for lane in sheet.lanes
    }
    assert told == {
        "single leg": [("", "3", False), ("", "", True)],
        "hinge": [("1", "1", True), ("", "2", False)],
    }
    # 3 sets are the most of all, of either.
    assert [week.own.percent for week in sheet.lanes[0].weeks] == [33.33, 0.0]
    assert [week.written.percent for week in sheet.lanes[0].weeks] == [33.33, 66.67]
    # 1 set of 8 against 1 + 3 + 2; 8 repetitions against 8 × 3 and the 48 of both legs; 3 s each
    # of the hinge against three of it and the 240 s of the split squat.
    assert sheet.differences == [
        "1 sets, not 6",
        "8 repetitions, not 72",
        "24 seconds under tension, not 312",
    ]


@pytest.mark.parametrize("weeks", [0, 1, 26])
def test_a_block_of_any_length_adds_up(weeks):
    sheet = weeks_sheet([volume([HINGE])] * weeks)
    assert len(sheet.weeks) == weeks
    assert sheet.whole == volume_sheet(sum([volume([HINGE])] * weeks, Volume()))


@pytest.mark.django_db
class TestWhatEachChildWillReallyDo:
    @pytest.fixture
    def hop(self):
        """Small hops, 2 contacts each, then large ones, 4 each."""
        small = ExerciseFactory(
            slug="small-hop", revision__pattern="land", revision__contacts=2, revision__low=1
        )
        large = ExerciseFactory(
            slug="large-hop", revision__pattern="land", revision__contacts=4, revision__low=1
        )
        return PathwayFactory(slug="hops", pattern="land", chain=[small, large])

    @pytest.fixture
    def session(self, cast, hop):
        made = SessionFactory(block=BlockFactory(cohort=cast.cohort))
        part = PartFactory(session=made, rounds=2)
        SlotFactory(part=part, exercise=Exercise.objects.get(slug="large-hop"), amount=8)
        return made

    def sheet(self, session, *children):
        written = Session.objects.with_slots().get(pk=session.pk)
        return child_volumes(written, children, UserFactory(role="head_coach"))

    def test_a_growth_spurt_halves_the_ceiling_and_the_child_gets_less(self, cast, session):
        grows = ChildFactory(cohort=cast.cohort, growing_fast_until=MONDAY)
        sheet = self.sheet(session, cast.child, grows)
        as_written, less = sheet.children
        # 2 rounds × 8 × 4 contacts = 64, within an eleven-year-old's 80 but not within 40.
        assert (sheet.written_contacts, as_written.contacts, as_written.ceiling) == (64, 64, 80)
        assert as_written.contacts_percent == 80.0
        # Small hops: 2 rounds × 8 × 2 contacts.
        assert (less.contacts, less.ceiling, less.contacts_percent) == (32, 40, 80.0)
        assert less.sets_apart == 0

    def test_what_waits_for_the_coach_is_not_counted_yet(self, cast, session):
        Child.objects.get(pk=cast.child.pk).restrictions.create(
            region="knee", kind="nothing", start=MONDAY, until=MONDAY
        )
        (child,) = self.sheet(session, cast.child).children
        assert (child.waiting, child.contacts, child.sets_apart) == (1, 0, -2)
        assert child.sets_fewer == 2

    def test_the_page_names_each_child_and_what_is_asked_of_it(self, cast, client_for, session):
        grows = ChildFactory(cohort=cast.cohort, given_name="Tilda", growing_fast_until=MONDAY)
        address = reverse("program:child_volumes", args=[session.pk])
        html = markup(client_for(cast.coach).get(address))
        for words in ("64 of 80", "32 of 40", str(grows), str(cast.child)):
            assert words in html
        assert client_for(cast.other_coach).get(address).status_code == 404

    def test_an_empty_session_and_an_empty_cohort_say_what_to_do(self, cast, client_for, session):
        address = reverse("program:child_volumes", args=[session.pk])
        coach = client_for(cast.coach)
        cast.child.enrolments.all().delete()
        assert "Nobody is in this cohort on that day" in markup(coach.get(address))
        session.parts.all().delete()
        assert "Nothing in this session yet" in markup(coach.get(address))


@pytest.mark.django_db
class TestWhatAChildWillReallyGetOverABlock:
    """Two weeks; hops for the older only, of 4 contacts, and small ones, of 2, beside them."""

    @pytest.fixture
    def block(self, cast):
        small = ExerciseFactory(
            slug="small-hop", revision__pattern="land", revision__contacts=2, revision__low=1
        )
        large = ExerciseFactory(
            slug="large-hop",
            revision__pattern="land",
            revision__contacts=4,
            revision__low=1,
            revision__minimum_age=15,
        )
        PathwayFactory(slug="hops", pattern="land", chain=[small, large])
        block = BlockFactory(
            cohort=cast.cohort, starts_on=MONDAY, ends_on=MONDAY + dt.timedelta(days=13)
        )
        for week in range(2):
            made = SessionFactory(block=block, date=MONDAY + dt.timedelta(weeks=week, days=1))
            part = PartFactory(session=made, rounds=2)
            SlotFactory(part=part, exercise=large, amount=5)
        return block

    def gets(self, cast, block, child=None):
        child = child or cast.child
        return child_block(cast.coach, block, list(child.enrolments.select_related("child")))

    def contacts(self, gets):
        (lane,) = (each for each in gets.sheet.measures if each.name == "ground contacts")
        return [(week.own.shown, week.written.shown) for week in lane.weeks]

    def test_drafts_count_as_fit_would_choose_them_today(self, cast, block):
        gets = self.gets(cast, block)
        # 2 rounds × 5 × 2 contacts, where 2 × 5 × 4 are written.
        assert self.contacts(gets) == [("20", "40"), ("20", "40")]
        assert gets.sheet.differences == ["40 ground contacts, not 80"]
        assert (gets.sent, gets.chosen, gets.deviation.waiting) == (0, 2, 0)

    def test_what_was_published_counts_as_it_was_sent(self, cast, block):
        first = block.sessions.earliest("date")
        publish(first, cast.coach, timezone.now(), because="It is known.")
        Slot.objects.filter(part__session=first).update(amount=9)
        gets = self.gets(cast, block)
        # Sent with 5; written by now with 9: 2 × 9 × 4.
        assert self.contacts(gets) == [("20", "72"), ("20", "40")]
        assert (gets.sent, gets.chosen) == (1, 1)

    def test_each_day_is_fitted_as_the_child_is_that_day(self, cast, block):
        cast.child.restrictions.create(
            region="knee", kind="nothing", start=MONDAY, until=MONDAY + dt.timedelta(days=6)
        )
        gets = self.gets(cast, block)
        assert (self.contacts(gets), gets.deviation.waiting) == ([("", "40"), ("20", "40")], 1)

    def test_a_day_on_which_the_child_is_not_in_the_cohort_is_not_its(self, cast, block):
        cast.child.enrolments.update(end=MONDAY + dt.timedelta(days=3))
        gets = self.gets(cast, block)
        assert self.contacts(gets) == [("20", "40"), ("", "40")]
        assert (gets.sent, gets.chosen) == (0, 1)

    def test_the_coachs_own_choice_counts(self, cast, block):
        slot = Slot.objects.filter(part__session=block.sessions.earliest("date")).get()
        slot.overrides.create(child=cast.child, exercise=None)
        assert self.contacts(self.gets(cast, block)) == [("", "40"), ("20", "40")]

    def test_the_board_and_the_childs_page_lead_to_it(self, cast, client_for, block):
        coach = client_for(cast.coach)
        publish(
            block.sessions.earliest("date"),
            cast.coach,
            timezone.now(),
            because="Known to all of us.",
        )
        address = reverse("program:block_of_child", args=[block.pk, cast.child.public_id])
        board = markup(coach.get(reverse("program:block", args=[block.pk])))
        names = reverse("program:block_children", args=[block.pk])
        assert names in board
        assert address in markup(coach.get(names))
        about = reverse("program:child_review", args=[cast.child.public_id])
        assert address in markup(coach.get(about))
        html = markup(coach.get(address))
        assert "40 ground contacts, not 80" in html
        assert '<b>20</b> <span class="soft">not 40</span>' in html
        assert client_for(cast.other_coach).get(address).status_code == 404

    def test_the_childs_page_leads_to_no_block_of_another_coach(self, cast, client_for, block):
        publish(
            block.sessions.earliest("date"),
            cast.coach,
            timezone.now(),
            because="Known to all of us.",
        )
        cast.child.enrolments.create(cohort=cast.other_cohort, start=MONDAY)
        about = reverse("program:child_review", args=[cast.child.public_id])
        html = markup(client_for(cast.other_coach).get(about))
        assert block.sessions.earliest("date").name in html
        assert reverse("program:block_of_child", args=[block.pk, cast.child.public_id]) not in html

    def test_an_empty_block_and_a_child_who_came_later_say_what_to_do(
        self, cast, client_for, block
    ):
        coach = client_for(cast.coach)
        address = reverse("program:block_of_child", args=[block.pk, cast.child.public_id])
        cast.child.enrolments.update(start=block.ends_on)
        assert "No session falls on this child" in markup(coach.get(address))
        Slot.objects.filter(part__session__block=block).delete()
        assert "Nothing is written in this block yet" in markup(coach.get(address))
