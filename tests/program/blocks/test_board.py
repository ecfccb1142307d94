"""The block board: what it shows, moving and copying, carrying forward, taking back, publishing."""

import datetime as dt

import pytest
from django.urls import reverse

from library.models import Exercise
from program.blocks import board_changes
from program.blocks.board import Board
from program.blocks.queries import sessions_of
from program.build.undoing import rows_of
from program.common.edit_conflicts import mark_of
from program.models import AssignedSession, BoardChange, Override, Part, Session, Slot
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ExerciseFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
    UserFactory,
)
from tests.support.hops import pathway_of_hops
from tests.support.markup import one_line
from tests.support.planning import HTMX, MOST_QUERIES, assert_well_made, queries_of, session_of

pytestmark = pytest.mark.django_db

WEEK = dt.timedelta(weeks=1)


@pytest.fixture
def block(cast):
    """Eight weeks from a Monday; a session on the Wednesday of the first."""
    block = BlockFactory(cohort=cast.cohort)
    wednesday = MONDAY + dt.timedelta(days=2)
    session_of(cast.cohort, needing=False, block=block, name="Strong steps", date=wednesday)
    return block


def url(name, block, *more):
    return reverse(f"program:{name}", args=[block.pk, *more])


def order(session, day, verb="move"):
    session.refresh_from_db()
    return {"do": f"{verb}:{session.pk}:{session.version}:{day}"}


def days(block):
    return [session.date for session in block.sessions.order_by("date", "id")]


def board(block):
    return Board(block, sessions_of(block), [], [], MONDAY)


class TestWhatItShows:
    def test_every_day_of_every_week_has_its_place_and_a_session_stands_on_its_own(self, block):
        weeks = board(block).weeks
        assert [len(week.days) for week in weeks] == [7] * 8
        assert [len(day.cells) for day in weeks[0].days] == [0, 0, 1, 0, 0, 0, 0]

    def test_the_last_week_ends_with_the_block(self, block):
        block.ends_on -= 4 * dt.timedelta(days=1)
        assert len(board(block).weeks[-1].days) == 3

    def test_a_cell_says_name_day_minutes_state_and_patterns(self, coach, block):
        html = coach.get(url("block", block)).content.decode()
        assert_well_made(html)
        cell = html.partition("<article")[2].partition("</article>")[0]
        for told in ("Strong steps", "Wed 4 Nov", " min</b>", "at home", "draft", "squat"):
            assert told in cell

    def test_a_slot_that_cannot_go_out_shows_on_the_cell(self, block):
        exercise = Slot.objects.first().exercise
        exercise.status = "retired"
        exercise.save()
        assert board(block).weeks[0].cells[0].state == "cannot go out"

    def test_an_empty_block_has_one_button_to_begin(self, coach, cast):
        empty = BlockFactory(cohort=cast.cohort)
        html = coach.get(url("block", empty)).content.decode()
        assert html.count(f'href="{url("session_new", empty)}"') == 1
        assert "Write the first session" in html

    def test_more_sessions_and_slots_cost_no_more_queries(self, coach, cast, block):
        coach.get(url("block", block))
        few = queries_of(coach, url("block", block))
        for number in range(5):
            session_of(cast.cohort, 3, 3, block=block, date=MONDAY + number * WEEK)
        coach.get(url("block", block))  # what is new in the library is read now
        assert queries_of(coach, url("block", block)) == few <= MOST_QUERIES

    def test_26_weeks_are_shown(self, coach, cast):
        longest = BlockFactory(cohort=cast.cohort, ends_on=MONDAY + 26 * WEEK)
        SessionFactory(block=longest)
        html = coach.get(url("block", longest)).content.decode()
        assert "<h2>Week 27</h2>" in html  # the one day over, which the block may have


class TestMoving:
    def test_a_session_goes_to_the_day_it_is_dropped_on_and_comes_back(self, coach, block):
        session = block.sessions.get()
        there = MONDAY + 8 * dt.timedelta(days=1)
        answer = coach.post(url("place", block), order(session, there), headers=HTMX)
        assert "went from Wednesday 4 November 2026 to Tuesday 10" in answer.content.decode()
        assert days(block) == [there]
        session.refresh_from_db()
        assert session.version == 2
        coach.post(url("change_back", block, BoardChange.objects.get().pk))
        assert days(block) == [MONDAY + dt.timedelta(days=2)]

    def test_a_copy_holds_the_same_and_taking_it_back_removes_it_alone(self, coach, block):
        session = block.sessions.get()
        coach.post(url("place", block), order(session, MONDAY + WEEK, "copy"))
        copy = block.sessions.exclude(pk=session.pk).get()
        assert [(s.exercise_id, s.amount) for s in Slot.objects.filter(part__session=copy)] == [
            (s.exercise_id, s.amount) for s in Slot.objects.filter(part__session=session)
        ]
        assert not copy.is_published
        coach.post(url("change_back", block, BoardChange.objects.get().pk))
        assert list(block.sessions.all()) == [session]

    def test_a_session_somebody_changed_meanwhile_is_not_moved(self, coach, block):
        asked = order(block.sessions.get(), MONDAY)
        Session.objects.update(version=5)
        answer = coach.post(url("place", block), asked, headers=HTMX)
        assert answer.status_code == 409
        assert "was changed since you saw it" in answer.content.decode()
        assert days(block) == [MONDAY + dt.timedelta(days=2)]

    def test_a_published_session_is_not_moved_from_under_the_families(self, coach, block):
        Session.objects.update(published_at="2026-11-01T08:00Z", published_version=1)
        answer = coach.post(url("place", block), order(block.sessions.get(), MONDAY), headers=HTMX)
        assert answer.status_code == 409
        assert "is published" in answer.content.decode()
        assert days(block) == [MONDAY + dt.timedelta(days=2)]

    @pytest.mark.parametrize("day", [MONDAY - dt.timedelta(days=1), MONDAY + 8 * WEEK])
    def test_a_day_outside_the_block_is_refused(self, coach, block, day):
        answer = coach.post(url("place", block), order(block.sessions.get(), day), headers=HTMX)
        assert answer.status_code == 409
        assert "lies outside the block" in answer.content.decode()

    @pytest.mark.parametrize(
        "said",
        [
            "",
            "move",
            "move:1:1:soon",
            "burn:1:1:2026-11-02",
            "move:x:1:2026-11-02",
            "move:1:x:2026-11-02",
            "::::",
        ],
    )
    def test_an_order_that_is_none_is_refused(self, coach, block, said):
        assert coach.post(url("place", block), {"do": said}).status_code == 400

    def test_another_blocks_session_is_not_there(self, coach, cast, block):
        other = SessionFactory(block=BlockFactory(cohort=cast.cohort))
        assert coach.post(url("place", block), order(other, MONDAY)).status_code == 404

    def test_a_button_pressed_twice_copies_once(self, coach, block):
        asked = order(block.sessions.get(), MONDAY + WEEK, "copy") | {"once": "k"}
        for _ in range(2):
            coach.post(url("place", block), asked)
        assert block.sessions.count() == 2


class TestTakingBack:
    def copied(self, coach, block):
        session = block.sessions.get()
        coach.post(url("place", block), order(session, MONDAY + WEEK, "copy"))
        return block.sessions.exclude(pk=session.pk).get(), BoardChange.objects.get()

    def test_a_copy_that_somebody_worked_on_stays_and_is_named(self, coach, cast, block):
        copy, change = self.copied(coach, block)
        other = UserFactory(name="Bo Second", role="coach")
        Session.objects.filter(pk=copy.pk).update(version=2, edited_by=other)
        html = coach.post(url("change_back", block, change.pk), headers=HTMX).content.decode()
        assert "was changed since by Bo Second, so it stays." in html
        assert block.sessions.filter(pk=copy.pk).exists()

    def test_a_copy_that_was_published_stays(self, coach, block):
        copy, change = self.copied(coach, block)
        Session.objects.filter(pk=copy.pk).update(
            published_at="2026-11-01T08:00Z", published_version=1
        )
        html = coach.post(url("change_back", block, change.pk), headers=HTMX).content.decode()
        assert "is published, so it stays." in html
        assert block.sessions.filter(pk=copy.pk).exists()

    def test_a_copy_in_which_something_was_decided_for_a_child_stays(self, coach, cast, block):
        copy, change = self.copied(coach, block)
        slot = Slot.objects.filter(part__session=copy).first()
        Override.objects.create(slot=slot, child=cast.child)
        html = coach.post(url("change_back", block, change.pk), headers=HTMX).content.decode()
        assert "holds a choice made for a child, so it stays." in html
        assert block.sessions.filter(pk=copy.pk).exists()

    def test_a_second_time_says_who_did_it_and_changes_nothing(self, coach, cast, block):
        _, change = self.copied(coach, block)
        coach.post(url("change_back", block, change.pk))
        answer = coach.post(url("change_back", block, change.pk), headers=HTMX)
        assert answer.status_code == 409
        assert "taken back already, by Owning Coach" in answer.content.decode()

    def test_a_session_moved_on_by_somebody_else_stays_where_they_put_it(self, coach, block):
        session = block.sessions.get()
        coach.post(url("place", block), order(session, MONDAY))
        first = BoardChange.objects.get()
        coach.post(url("place", block), order(session, MONDAY + WEEK))
        html = coach.post(url("change_back", block, first.pk), headers=HTMX).content.decode()
        assert "was moved again since, so it stays." in html
        assert days(block) == [MONDAY + WEEK]

    def deleted(self, coach, block):
        session = block.sessions.get()
        address = reverse("program:session_take_out", args=[session.pk])
        assert coach.post(address).url == url("block", block)
        assert not block.sessions.exists()
        return BoardChange.objects.get()

    def test_a_deleted_draft_comes_back_as_it_was_with_what_was_decided_for_a_child(
        self, coach, cast, block
    ):
        slot = Slot.objects.first()
        slot.overrides.create(child=cast.child, exercise=None, note="Not this week.")
        session = block.sessions.get()
        before = rows_of(session)
        change = self.deleted(coach, block)
        page = coach.get(url("block", block)).content.decode()
        assert "Strong steps of Wednesday 4 November" in page
        assert f'action="{url("change_back", block, change.pk)}"' in page
        coach.post(url("change_back", block, change.pk))
        assert rows_of(session) == before
        assert slot.overrides.get().note == "Not this week."

    def test_a_deleted_draft_does_not_come_back_into_a_block_cut_short(self, coach, block):
        change = self.deleted(coach, block)
        type(block).objects.update(starts_on=MONDAY + WEEK)
        html = coach.post(url("change_back", block, change.pk), follow=True).content.decode()
        assert "The block does not hold Wednesday 4 November" in html
        assert not block.sessions.exists()

    def test_who_coaches_the_cohort_no_longer_brings_nothing_back(self, coach, cast, block):
        change = self.deleted(coach, block)
        cast.cohort.coaches.clear()
        assert coach.post(url("change_back", block, change.pk)).status_code == 404
        assert not block.sessions.exists()

    def test_another_blocks_change_is_not_there(self, coach, cast, block):
        _, change = self.copied(coach, block)
        other = BlockFactory(cohort=cast.cohort)
        assert coach.post(url("change_back", other, change.pk)).status_code == 404


def asked(**changes):
    return {
        "week": 1,
        "to": ["2", "3"],
        "change": "repetitions",
        "pace": "more",
        "beyond": "stay",
        "taken": "skip",
    } | changes


def shown_mark(html):
    return html.partition('name="mark" value="')[2].partition('"')[0]


class TestCarrying:
    """A week of one session with two exercises of eight, used from five to twelve."""

    def look(self, coach, block, **changes):
        answer = coach.get(url("carry", block), asked(**changes), headers=HTMX)
        return answer.content.decode()

    def do(self, coach, block, **changes):
        mark = shown_mark(self.look(coach, block, **changes))
        return coach.post(url("carry", block), asked(**changes) | {"mark": mark})

    def amounts(self, block):
        rows = Slot.objects.filter(part__session__block=block).order_by("part__session__date")
        found: dict[dt.date, list[int]] = {}
        for day, amount in rows.values_list("part__session__date", "amount"):
            found.setdefault(day, []).append(amount)
        return list(found.values())

    def test_the_page_offers_the_other_weeks_and_shows_nothing_yet(self, coach, block):
        html = coach.get(url("carry", block), {"week": 1}).content.decode()
        assert_well_made(html)
        assert 'value="8"' in html
        assert 'name="to" value="1"' not in html
        assert "is shown here first" in html

    def test_looking_tells_and_writes_nothing(self, coach, block):
        html = self.look(coach, block)
        assert "<b>10 times</b>" in html
        assert "<b>12 times</b>" in html
        assert "Make 2 drafts" in html
        assert block.sessions.count() == 1

    def test_doing_writes_what_was_shown_and_is_taken_back_at_once(self, coach, block):
        assert self.do(coach, block).status_code == 302
        assert self.amounts(block) == [[8, 8], [10, 10], [12, 12]]
        assert days(block)[1:] == [days(block)[0] + WEEK, days(block)[0] + 2 * WEEK]
        change = BoardChange.objects.get()
        assert change.sentence == "Week 1 was copied to weeks 2 and 3: 2 more repetitions."
        coach.post(url("change_back", block, change.pk))
        assert self.amounts(block) == [[8, 8]]

    def test_all_weeks_after_it_are_one_choice(self, coach, block):
        self.do(coach, block, to=["after"], change="nothing")
        assert len(days(block)) == 8

    def test_the_same_change_in_all_is_made_once_in_each(self, coach, block):
        self.do(coach, block, pace="same")
        assert self.amounts(block) == [[8, 8], [10, 10], [10, 10]]

    def test_a_deload_is_made_once_in_each_week_however_it_is_asked(self, coach, block):
        # One round of 24, of which 60 % are 14.4.
        Slot.objects.update(amount=12)
        self.do(coach, block, change="deload")
        assert self.amounts(block) == [[12, 12], [7, 7], [7, 7]]

    def test_the_preview_says_minutes_sets_and_landings_before_and_after(self, coach, block):
        # Three rounds of 8 and 6 hops: 60 % of 42 are 25.2, so two rounds, 28, and a repetition
        # less of the first, of which more is left (7 of 8 against 5 of 6): 26; 24 is further off.
        part = Part.objects.get()
        Part.objects.update(rounds=3)
        part.slots.all().delete()
        pathway_of_hops()
        squat, hop = ExerciseFactory(revision__tempo=""), Exercise.objects.get(slug="hop")
        SlotFactory(part=part, position=0, exercise=squat, amount=8, tempo="")
        SlotFactory(part=part, position=1, exercise=hop, amount=6, tempo="")
        html = self.look(coach, block, to=["2"], change="deload")
        assert "3 to 2 min, 6 to 4 sets, 18 to 12 ground contacts" in html
        # To 80 %, 33.6, three rounds of 6 and 5 are nearest: 33.
        html = self.look(coach, block, to=["2"], change="deload", share="80")
        assert ", 6 sets, 18 to 15 ground contacts" in html
        self.do(coach, block, to=["2"], change="deload", share="80")
        assert BoardChange.objects.get().sentence.endswith("copied to week 2: a deload to 80 %.")

    def test_the_week_is_added_up_too_also_where_nothing_is_changed(self, coach, cast, block):
        """Each takes two minutes: two sets of 8 × 5 s, getting ready and moving on."""
        session_of(cast.cohort, block=block, name="Quiet feet", date=MONDAY)
        html = one_line(self.look(coach, block, to=["2"], change="nothing"))
        assert html.count('<p class="num">2 min, 2 sets</p>') == 2
        assert "<b>The week in all</b> 4 min, 4 sets" in html

    def test_warm_ups_and_cool_downs_are_changed_each_where_the_coach_says_so(self, coach, block):
        part = Part.objects.get()
        Part.objects.update(kind="warm_up")
        last = PartFactory(session=part.session, position=1, kind="cool_down")
        SlotFactory(part=last, exercise=ExerciseFactory(), tempo="", amount=7)
        assert "Nothing in it is counted that way" in self.look(coach, block)
        self.do(coach, block, to=["2"], also=["warm_up"])
        assert self.amounts(block) == [[8, 8, 7], [10, 10, 7]]
        self.do(coach, block, to=["3"], pace="same", also=["warm_up", "cool_down"])
        assert self.amounts(block)[-1] == [10, 10, 9]

    def drafts_there(self, block, **more):
        return SessionFactory(block=block, name="Old plan", date=MONDAY + WEEK, **more)

    def names(self, block):
        return list(block.sessions.order_by("date", "id").values_list("name", flat=True))

    def test_a_copy_replaces_the_drafts_that_stand_there_and_taking_it_back_restores_them(
        self, coach, block
    ):
        old = self.drafts_there(block)
        SlotFactory(part=PartFactory(session=old), exercise=ExerciseFactory(), tempo="", amount=7)
        html = self.look(coach, block, to=["2"], taken="replace")
        assert "Old plan" in html
        assert self.names(block) == ["Strong steps", "Old plan"]
        self.do(coach, block, to=["2"], taken="replace")
        assert self.names(block) == ["Strong steps", "Strong steps"]
        change = BoardChange.objects.get()
        assert change.sentence.endswith("It replaced 1 session.")
        coach.post(url("change_back", block, change.pk))
        assert self.names(block) == ["Strong steps", "Old plan"]
        assert Slot.objects.get(part__session__name="Old plan").amount == 7

    def test_what_is_published_or_decided_for_a_child_is_never_replaced(self, coach, cast, block):
        old = self.drafts_there(block)
        slot = SlotFactory(part=PartFactory(session=old), exercise=ExerciseFactory(), tempo="")
        Override.objects.create(slot=slot, child=cast.child)
        html = self.look(coach, block, to=["2"], taken="replace")
        assert "Something is decided for a child" in html
        Override.objects.all().delete()
        Session.objects.filter(pk=old.pk).update(
            published_at="2026-11-01T08:00Z", published_version=1
        )
        html = self.look(coach, block, to=["2"], taken="replace")
        assert "What is published there stays" in html
        assert "Make 1 draft" not in html

    def test_one_session_replaces_what_stands_on_its_day_alone(self, coach, block):
        other, same = self.drafts_there(block), self.drafts_there(block)
        Session.objects.filter(pk=same.pk).update(date=MONDAY + WEEK + dt.timedelta(days=2))
        session = block.sessions.get(name="Strong steps")
        self.do(coach, block, session=session.pk, to=["2"], taken="replace")
        assert self.names(block) == ["Strong steps", "Old plan", "Strong steps"]
        assert block.sessions.filter(pk=other.pk).exists()

    def test_what_would_leave_its_range_is_said(self, coach, block):
        Slot.objects.update(amount=11)
        html = self.look(coach, block, beyond="end")
        assert "13 is more than the 12 it is used with, so it goes to 12." in html

    def test_a_change_that_changes_nothing_says_so(self, coach, block):
        assert "Nothing in it is counted that way" in self.look(coach, block, change="seconds")

    def test_a_week_with_published_sessions_is_left_out_unless_asked_beside(self, coach, block):
        SessionFactory(
            block=block,
            date=MONDAY + WEEK,
            published_at="2026-11-01T08:00Z",
            published_version=1,
        )
        html = self.look(coach, block)
        assert "It has 1 session published, so nothing is put there." in html
        assert "Make 1 draft<" in html
        html = self.look(coach, block, taken="beside")
        assert "Beside 1 session published already." in html
        self.do(coach, block, to=["2"], taken="beside")
        assert len(days(block)) == 3

    def test_a_day_after_the_blocks_end_is_left_out(self, coach, block):
        block.ends_on = MONDAY + WEEK
        block.save()
        html = self.look(coach, block, to=["2"])
        assert "The block has ended by then." in html
        assert "There is nothing to copy like this" in html

    def test_one_session_is_carried_alone(self, coach, cast, block):
        session_of(cast.cohort, block=block, name="Quiet feet", date=MONDAY)
        session = block.sessions.get(name="Quiet feet")
        self.do(coach, block, session=session.pk, to=["2"])
        assert [s.name for s in block.sessions.order_by("date")] == [
            "Quiet feet",
            "Strong steps",
            "Quiet feet",
        ]

    @pytest.mark.parametrize(
        ("wrong", "said"),
        [
            ({"to": []}, "Choose at least one week."),
            ({"to": ["1"]}, "Choose weeks of this block"),
            ({"to": ["27"]}, "Choose weeks of this block"),
            ({"change": "double"}, "Select a valid choice"),
        ],
    )
    def test_a_wish_that_cannot_be_read_is_refused_in_words(self, coach, block, wrong, said):
        assert said in self.look(coach, block, **wrong)
        answer = coach.post(url("carry", block), asked(**wrong) | {"mark": "x"})
        assert answer.status_code == 422
        assert said in answer.content.decode()

    @pytest.mark.parametrize("where", [{"week": "0"}, {"week": "2"}, {"week": "x" * 99}])
    def test_an_empty_week_or_none_is_not_there(self, coach, block, where):
        assert coach.get(url("carry", block), where).status_code == 404

    @pytest.mark.parametrize("which", ["source", "target"])
    def test_after_somebody_changed_the_block_it_is_shown_anew_first(
        self, coach, cast, block, which
    ):
        mark = shown_mark(self.look(coach, block))
        if which == "source":
            Session.objects.update(version=7)
        else:
            SessionFactory(block=block, date=MONDAY + 2 * WEEK)
        before = block.sessions.count()
        answer = coach.post(url("carry", block), asked(mark=mark))
        html = answer.content.decode()
        assert answer.status_code == 409
        assert "Somebody changed the block since you looked." in html
        assert block.sessions.count() == before
        assert coach.post(url("carry", block), asked(mark=shown_mark(html))).status_code == 302

    def test_sent_twice_it_is_done_once(self, coach, block):
        mark = shown_mark(self.look(coach, block, taken="beside"))
        for _ in range(2):
            coach.post(url("carry", block), asked(mark=mark, once="k", taken="beside"))
        assert block.sessions.count() == 3

    def test_a_large_week_costs_no_more_queries_than_a_small_one(self, coach, cast, block):
        address = f"{url('carry', block)}?week=1&to=2&change=round&pace=more&beyond=stay&taken=skip"
        coach.get(address)
        few = queries_of(coach, address)
        session_of(cast.cohort, 3, 4, block=block, date=MONDAY)
        coach.get(address)
        assert queries_of(coach, address) == few <= MOST_QUERIES


class TestPublishingAWeek:
    def test_every_draft_of_the_week_goes_out_and_what_cannot_says_why(self, coach, cast, block):
        SessionFactory(block=block, name="Still empty", date=MONDAY)
        session_of(cast.cohort, block=block, date=MONDAY + WEEK)
        mark = mark_of(s for s in block.sessions.all() if block.week_of(s.date) == 1)
        answer = coach.post(url("publish_week", block, 1), {"mark": mark}, follow=True)
        html = answer.content.decode()
        assert "Still empty: There is no exercise in this session yet." in html
        assert "Strong steps. Published: 1 child got it." in html
        assert AssignedSession.objects.get().session.name == "Strong steps"

    def test_a_week_changed_meanwhile_is_not_published(self, coach, block):
        answer = coach.post(url("publish_week", block, 1), {"mark": "old"}, follow=True)
        assert "Nothing was published." in answer.content.decode()
        assert not AssignedSession.objects.exists()

    def test_a_week_without_sessions_is_not_there(self, coach, block):
        assert coach.post(url("publish_week", block, 5), {"mark": ""}).status_code == 404


def test_a_long_name_leaves_a_sentence_that_fits(block, cast):
    said = board_changes.record_change(block, "x" * 400, cast.coach, "2026-11-02T08:00Z").sentence
    assert len(said) == 300


def test_what_a_session_writes_beside_its_dose_is_copied_too(coach, block):
    slot = Slot.objects.first()
    Slot.objects.filter(pk=slot.pk).update(
        note="Slowly.", rest_seconds=20, rule="meet_placement", max_steps_up=2
    )
    PartFactory(session=slot.part.session, position=5, name="Cool down", rounds=2, rest_seconds=9)
    SlotFactory(part=slot.part, position=7, exercise=ExerciseFactory(), tempo="")
    coach.post(url("place", block), order(block.sessions.get(), MONDAY + WEEK, "copy"))
    one, two = block.sessions.order_by("date")
    rows = ["name", "kind", "rounds", "rest_seconds"]
    assert list(one.parts.values_list(*rows)) == list(two.parts.values_list(*rows))
    rows = ["exercise", "amount", "tempo", "rest_seconds", "note", "rule", "max_steps_up"]
    for part, copy in zip(one.parts.all(), two.parts.all(), strict=True):
        assert list(part.slots.values_list(*rows)) == list(copy.slots.values_list(*rows))
