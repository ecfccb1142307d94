"""Parts and slots of a session: added by search, moved, doubled, deleted and brought back."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from program.build import undoing
from program.models import Override, Part, Session, Slot
from tests.support.factories import (
    AssignedSessionFactory,
    AssignedSlotFactory,
    ExerciseFactory,
    PartFactory,
    SlotFactory,
)
from tests.support.planning import HTMX, builder_of, names_of, session_of, typed, url

pytestmark = pytest.mark.django_db


@pytest.fixture
def session(cast):
    return session_of(cast.cohort, parts=2, slots=2)


def parts_of(session):
    return list(session.parts.all())


def slots_of(session):
    return list(Slot.objects.filter(part__session=session).order_by("part__position", "position"))


def version_of(session):
    return Session.objects.values_list("version", flat=True).get(pk=session.pk)


class TestAdding:
    def test_a_part_is_added_last_with_what_its_kind_begins_with(self, coach, session):
        answer = coach.post(url("part_new", session), {"kind": "superset"}, headers=HTMX)
        part = parts_of(session)[-1]
        assert answer.status_code == 200
        assert (part.name, part.kind, part.rounds, part.rest_seconds) == (
            "Part 3",
            "superset",
            3,
            30,
        )
        assert version_of(session) == 2

    def test_a_part_of_no_known_kind_is_not_made(self, coach, session):
        assert coach.post(url("part_new", session), {"kind": "ladder"}).status_code == 400
        assert len(parts_of(session)) == 2
        assert version_of(session) == 1

    def test_a_search_finds_published_exercises_despite_a_slip(self, coach, session):
        ExerciseFactory(revision__name="Backpack row")
        ExerciseFactory(revision__name="Backpack carry", revision__status="draft")
        address = url("find", session, parts_of(session)[0].pk)
        html = coach.get(address, {"q": "bakpack"}, headers=HTMX).content.decode()
        assert "Backpack row" in html
        assert "Backpack carry" not in html
        assert "<h1>" not in html

    def test_without_scripting_a_search_shows_the_page_with_what_it_found(self, coach, session):
        ExerciseFactory(revision__name="Backpack row")
        address = url("find", session, parts_of(session)[0].pk)
        html = coach.get(address, {"q": "backpack"}).content.decode()
        assert "Backpack row" in html
        assert "<h1>" in html

    def test_a_search_that_finds_nothing_says_so(self, coach, session):
        address = url("find", session, parts_of(session)[0].pk)
        html = coach.get(address, {"q": "zzzz"}, headers=HTMX).content.decode()
        assert "No published exercise is called “zzzz”" in html

    def test_an_exercise_is_added_last_with_its_usual_dose(self, coach, session):
        row = ExerciseFactory(revision__name="Row", revision__usual=9, revision__tempo="2-1-1-0")
        part = parts_of(session)[0]
        coach.post(url("slot_new", session, part.pk), {"exercise": row.pk}, headers=HTMX)
        slot = part.slots.last()
        assert (slot.exercise, slot.amount, slot.tempo) == (row, 9, "2-1-1-0")
        assert version_of(session) == 2

    @pytest.mark.parametrize("status", ["draft", "retired"])
    def test_an_exercise_that_is_not_published_is_refused_at_the_field(
        self, coach, session, status
    ):
        exercise = ExerciseFactory(revision__name="Nordic lower", revision__status=status)
        part = parts_of(session)[0]
        answer = coach.post(
            url("slot_new", session, part.pk), {"exercise": exercise.pk}, headers=HTMX
        )
        assert answer.status_code == 422
        found = answer.content.decode().partition(f'id="part-{part.pk}-found"')[2]
        assert "Nordic lower is not published, so it cannot go into a session." in found[:300]
        assert len(slots_of(session)) == 4
        assert version_of(session) == 1

    @pytest.mark.parametrize("exercise", ["", "none", "999999999", "9" * 40])
    def test_an_exercise_that_does_not_exist_is_refused(self, coach, session, exercise):
        address = url("slot_new", session, parts_of(session)[0].pk)
        answer = coach.post(address, {"exercise": exercise}, headers=HTMX)
        assert answer.status_code == 422
        assert "Choose an exercise from the list." in answer.content.decode()
        assert version_of(session) == 1

    def test_a_wish_sent_twice_is_granted_once(self, coach, session):
        row = ExerciseFactory()
        part = parts_of(session)[0]
        for _ in range(2):
            coach.post(url("part_new", session), {"kind": "circuit", "once": "k1"})
            coach.post(url("slot_new", session, part.pk), {"exercise": row.pk, "once": "k1"})
            coach.post(url("slot_duplicate", session, part.slots.first().pk), {"once": "k1"})
            coach.post(url("part_duplicate", session, part.pk), {"once": "k1"})
        assert [len(names) for names in names_of(session)] == [4, 4, 2, 0]

    def test_the_same_key_grants_another_wish(self, coach, session):
        part = parts_of(session)[0]
        for exercise in (ExerciseFactory(), ExerciseFactory()):
            sent = {"exercise": exercise.pk, "once": "k1"}
            coach.post(url("slot_new", session, part.pk), sent)
        assert part.slots.count() == 4


class TestMoving:
    def test_a_slot_goes_up_and_down_one_place(self, coach, session):
        first, second, *_ = slots_of(session)
        coach.post(url("slot_move", session, second.pk), {"way": "up"}, headers=HTMX)
        assert slots_of(session)[:2] == [second, first]
        coach.post(url("slot_move", session, second.pk), {"way": "down"}, headers=HTMX)
        assert slots_of(session)[:2] == [first, second]
        assert version_of(session) == 3

    def test_a_slot_at_the_edge_goes_into_the_neighbouring_part(self, coach, session):
        _, last = slots_of(session)[:2]
        coach.post(url("slot_move", session, last.pk), {"way": "down"})
        assert names_of(session) == [
            ["Exercise 1a"],
            ["Exercise 1b", "Exercise 2a", "Exercise 2b"],
        ]
        coach.post(url("slot_move", session, last.pk), {"way": "up"})
        assert names_of(session)[0] == ["Exercise 1a", "Exercise 1b"]

    def test_the_first_slot_going_up_stays_and_is_no_edit(self, coach, session):
        first = slots_of(session)[0]
        assert coach.post(url("slot_move", session, first.pk), {"way": "up"}).status_code == 302
        assert slots_of(session)[0] == first
        assert version_of(session) == 1

    def test_a_slot_is_put_before_another_one_of_another_part(self, coach, session):
        moved, _, target, _ = slots_of(session)
        sent = {"part": target.part_id, "before": target.pk}
        coach.post(url("slot_move", session, moved.pk), sent, headers=HTMX)
        assert names_of(session) == [
            ["Exercise 1b"],
            ["Exercise 1a", "Exercise 2a", "Exercise 2b"],
        ]

    def test_a_slot_is_put_last_into_an_empty_part(self, coach, session):
        empty = PartFactory(session=session, position=9)
        moved = slots_of(session)[0]
        sent = {"part": empty.pk, "before": ""}
        coach.post(url("slot_move", session, moved.pk), sent, headers=HTMX)
        assert names_of(session)[2] == ["Exercise 1a"]

    def test_a_slot_does_not_leave_its_session(self, coach, cast, session):
        elsewhere = session_of(cast.cohort)
        moved = slots_of(session)[0]
        sent = {"part": parts_of(elsewhere)[0].pk, "before": ""}
        assert coach.post(url("slot_move", session, moved.pk), sent).status_code == 404
        assert names_of(session)[0] == ["Exercise 1a", "Exercise 1b"]

    @pytest.mark.parametrize("sent", [{}, {"way": "sideways"}, {"part": "x"}])
    def test_a_move_to_nowhere_is_refused(self, coach, session, sent):
        moved = slots_of(session)[0]
        assert coach.post(url("slot_move", session, moved.pk), sent).status_code == 400
        assert version_of(session) == 1

    def test_parts_are_moved_by_a_place_and_before_another(self, coach, session):
        PartFactory(session=session, position=5, name="Part 3")
        one, _, three = parts_of(session)
        coach.post(url("part_move", session, one.pk), {"way": "down"}, headers=HTMX)
        assert [part.name for part in parts_of(session)] == ["Part 2", "Part 1", "Part 3"]
        coach.post(url("part_move", session, one.pk), {"before": ""}, headers=HTMX)
        assert [part.name for part in parts_of(session)] == ["Part 2", "Part 3", "Part 1"]
        coach.post(url("part_move", session, one.pk), {"before": three.pk}, headers=HTMX)
        assert [part.name for part in parts_of(session)] == ["Part 2", "Part 1", "Part 3"]

    def test_the_last_part_going_down_is_no_edit(self, coach, session):
        coach.post(url("part_move", session, parts_of(session)[1].pk), {"way": "down"})
        assert version_of(session) == 1


class TestDoubling:
    def test_a_slot_is_doubled_right_after_itself_with_its_dose(self, coach, session):
        first = slots_of(session)[0]
        Slot.objects.filter(pk=first.pk).update(
            amount=6, tempo="", rest_seconds=20, note="soft", rule="as_written", max_steps_up=0
        )
        coach.post(url("slot_duplicate", session, first.pk), headers=HTMX)
        _, copy, *_ = slots_of(session)
        assert names_of(session)[0] == ["Exercise 1a", "Exercise 1a", "Exercise 1b"]
        assert (copy.amount, copy.tempo, copy.rest_seconds, copy.note) == (6, "", 20, "soft")
        assert (copy.rule, copy.max_steps_up) == ("as_written", 0)

    def test_a_part_is_doubled_with_its_slots(self, coach, session):
        coach.post(url("part_duplicate", session, parts_of(session)[0].pk), headers=HTMX)
        one = ["Exercise 1a", "Exercise 1b"]
        assert names_of(session) == [one, one, ["Exercise 2a", "Exercise 2b"]]

    def test_a_session_is_copied_to_the_week_after_unpublished(self, coach, session):
        Session.objects.update(published_version=1, note="Bring water")
        answer = coach.post(url("session_duplicate", session))
        copy = Session.objects.exclude(pk=session.pk).get()
        assert answer.url == url("build", copy)
        assert (copy.date - session.date).days == 7
        assert (copy.note, copy.is_published) == ("Bring water", False)
        assert names_of(copy) == names_of(session)

    def test_a_copy_past_the_blocks_end_stays_on_its_day(self, coach, session):
        Session.objects.update(date=session.block.ends_on)
        coach.post(url("session_duplicate", session))
        assert Session.objects.exclude(pk=session.pk).get().date == session.block.ends_on

    def test_a_copy_asked_for_twice_is_made_once(self, coach, session):
        for _ in range(2):
            coach.post(url("session_duplicate", session), {"once": "k"})
        assert Session.objects.count() == 2


def edits(coach, session) -> list[str]:
    """What this coach may undo, newest last."""
    return [each.key for each in undoing.edits_of(coach.session, session.pk)]


def undo(coach, session, key=None):
    sent = {"edit": key or edits(coach, session)[-1]}
    return coach.post(url("undo_edit", session), sent, headers=HTMX)


class TestTakingOut:
    def test_a_slot_is_deleted_and_comes_back_where_it_stood(self, coach, session):
        first = slots_of(session)[0]
        before = Slot.objects.filter(pk=first.pk).values().get()
        answer = coach.post(url("slot_take_out", session, first.pk), typed(first), headers=HTMX)
        assert "Exercise 1a is deleted." in answer.content.decode()
        assert names_of(session)[0] == ["Exercise 1b"]
        undo(coach, session)
        assert names_of(session)[0] == ["Exercise 1a", "Exercise 1b"]
        assert Slot.objects.filter(pk=first.pk).values().get() == before
        assert version_of(session) == 3
        assert edits(coach, session) == []

    def test_the_notice_where_it_stood_and_the_button_above_undo_the_same_edit(
        self, coach, session
    ):
        first = slots_of(session)[0]
        coach.post(url("slot_take_out", session, first.pk), typed(first), headers=HTMX)
        html = coach.get(url("build", session)).content.decode()
        assert re.findall('name="edit" value="([^"]+)"', html) == edits(coach, session) * 2

    def test_it_comes_back_from_its_place_though_other_things_were_changed_since(
        self, coach, session
    ):
        """Even where another one stands in its place by now."""
        first, second, third, _ = slots_of(session)
        coach.post(url("slot_take_out", session, first.pk), typed(first))
        [deleted] = edits(coach, session)
        coach.post(url("slot", session, second.pk), typed(second, amount=9))
        coach.post(url("slot_move", session, third.pk), {"way": "up"})
        coach.post(url("slot_move", session, second.pk), {"way": "down"})
        undo(coach, session, deleted)
        assert names_of(session)[0] == ["Exercise 1a", "Exercise 2a", "Exercise 1b"]
        assert Slot.objects.get(pk=second.pk).amount == 9

    def test_the_coachs_choice_for_a_child_comes_back_with_its_slot(self, cast, coach, session):
        first = Slot.objects.filter(part__session=session).first()
        first.overrides.create(child=cast.child, exercise=None, note="Not this week.")
        coach.post(url("slot_take_out", session, first.pk), typed(first), headers=HTMX)
        assert not Override.objects.exists()
        undo(coach, session)
        assert Override.objects.get(slot=first.pk, child=cast.child).note == "Not this week."

    def test_a_part_comes_back_with_all_its_slots(self, coach, session):
        part = parts_of(session)[0]
        coach.post(url("part_take_out", session, part.pk), typed(part), headers=HTMX)
        assert names_of(session) == [["Exercise 2a", "Exercise 2b"]]
        undo(coach, session)
        assert names_of(session)[0] == ["Exercise 1a", "Exercise 1b"]

    def test_what_was_published_points_again_at_the_slot_it_came_from(self, coach, session):
        first = slots_of(session)[0]
        sent = AssignedSlotFactory(
            assigned_session=AssignedSessionFactory(session=session), written_slot=first
        )
        coach.post(url("slot_take_out", session, first.pk), typed(first))
        undo(coach, session)
        sent.refresh_from_db()
        assert sent.written_slot == first

    def test_a_slot_comes_back_only_into_a_part_that_is_there(self, coach, session):
        first = slots_of(session)[0]
        coach.post(url("slot_take_out", session, first.pk), typed(first))
        coach.post(url("part_take_out", session, first.part_id), typed(first.part))
        of_slot, of_part = edits(coach, session)
        answer = undo(coach, session, of_slot)
        assert "The part that Exercise 1a stood in is gone." in answer.content.decode()
        assert names_of(session) == [["Exercise 2a", "Exercise 2b"]]
        undo(coach, session, of_part)
        assert names_of(session)[0] == ["Exercise 1b"]

    def test_the_way_back_belongs_to_who_deleted_it(self, coach, cast, client_for, session):
        first = slots_of(session)[0]
        coach.post(url("slot_take_out", session, first.pk), typed(first))
        [key] = edits(coach, session)
        answer = undo(client_for(cast.head_coach), session, key)
        assert "There is nothing to undo here" in answer.content.decode()
        assert not Slot.objects.filter(pk=first.pk).exists()

    def test_a_slot_somebody_changed_meanwhile_is_shown_before_it_goes(self, coach, session):
        first = slots_of(session)[0]
        as_seen = typed(first)
        Slot.objects.filter(pk=first.pk).update(amount=11, version=2)
        answer = coach.post(url("slot_take_out", session, first.pk), as_seen, headers=HTMX)
        assert answer.status_code == 409
        assert "Somebody changed this since you saw it." in answer.content.decode()
        assert Slot.objects.filter(pk=first.pk).exists()

    def test_a_part_goes_only_while_nothing_in_the_session_changed_unseen(self, coach, session):
        part = parts_of(session)[0]
        as_seen = typed(part)
        coach.post(
            url("slot", session, slots_of(session)[0].pk), typed(slots_of(session)[0], amount=9)
        )
        answer = coach.post(url("part_take_out", session, part.pk), as_seen, headers=HTMX)
        assert answer.status_code == 409
        assert Part.objects.filter(pk=part.pk).exists()

    def test_a_session_a_child_got_stays(self, coach, session):
        AssignedSessionFactory(session=session)
        html = coach.post(url("session_take_out", session), follow=True).content.decode()
        assert "was published, so it stays" in html
        assert Session.objects.filter(pk=session.pk).exists()


def test_no_change_of_structure_asks_the_database_more_for_more_slots(coach, cast):
    counts = []
    for slots in (2, 9):
        session = session_of(cast.cohort, parts=2, slots=slots)
        slot = slots_of(session)[0]
        with CaptureQueriesContext(connection) as captured:
            coach.post(url("slot_move", session, slot.pk), {"way": "down"}, headers=HTMX)
            coach.post(url("slot_duplicate", session, slot.pk), {}, headers=HTMX)
        counts.append(len(captured))
    assert counts[0] == counts[1]


def test_an_added_exercise_is_counted_once_in_what_to_have_ready(cast):
    session = session_of(cast.cohort, parts=0)
    part = PartFactory(session=session)
    for place, what in enumerate(("a stable seat", "a seat that stands still")):
        exercise = ExerciseFactory(revision__needs=[(what, ["sofa", "dining-chair"])])
        SlotFactory(part=part, position=place, exercise=exercise)
    ready = builder_of(session).panel.plan.ready
    assert [(thing.what, thing.items) for thing in ready] == [
        ("a stable seat", ("dining chair", "sofa"))
    ]
