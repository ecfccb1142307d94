"""The builder's way back: each edit of a coach undone, and nobody's work with it."""

import datetime as dt

import pytest

from program.build import undoing
from program.models import Override, Part, Session, Slot
from tests.support.factories import ExerciseFactory, SlotFactory
from tests.support.planning import HTMX, names_of, session_of, typed, url
from tests.support.together import together

pytestmark = pytest.mark.django_db


@pytest.fixture
def session(cast):
    return session_of(cast.cohort, parts=2, slots=2, name="Strong steps")


@pytest.fixture
def slots(session):
    return list(Slot.objects.filter(part__session=session).order_by("part__position", "position"))


@pytest.fixture
def two(cast, client_for):
    """The owning coach and the head coach."""
    return client_for(cast.coach), client_for(cast.head_coach)


def stored(session) -> dict:
    return undoing.rows_of(session)


def shown(coach, session) -> str:
    """The edit that the page of this coach offers to undo; "" for none."""
    html = coach.get(url("build", session)).content.decode()
    return html.partition('id="state"')[2].partition('name="edit" value="')[2].partition('"')[0]


def undo(coach, session, edit=None) -> str:
    edit = shown(coach, session) if edit is None else edit
    answer = coach.post(url("undo_edit", session), {"edit": edit}, headers=HTMX)
    assert answer.status_code == 200
    return answer.content.decode()


def undo_last(coach, session) -> None:
    """Without drawing a page."""
    edit = undoing.edits_of(coach.session, session.pk)[-1].key
    assert coach.post(url("undo_edit", session), {"edit": edit}).status_code == 302


def gives(coach, session, slot, amount) -> None:
    answer = coach.post(url("slot", session, slot.pk), typed(slot, amount=amount))
    assert answer.status_code == 302


def amounts(slots) -> list[int]:
    return [Slot.objects.get(pk=slot.pk).amount for slot in slots]


def facts(session, **changes) -> dict:
    session = Session.objects.get(pk=session.pk)
    names = ("name", "date", "place", "target_minutes", "note")
    now = {name: str(getattr(session, name)) for name in names}
    seen = {f"seen-{name}": value for name, value in now.items()}
    return now | seen | {"version": session.version} | changes


def test_edits_are_undone_one_after_the_other_whatever_they_were(coach, session, slots):
    first, second = slots[:2]
    was = [stored(session)]
    for act, row, sent in (
        ("slot_new", first.part, {"exercise": ExerciseFactory().pk}),
        ("slot_move", first, {"way": "down"}),
        ("slot_move", second, {"part": slots[2].part_id, "before": ""}),
        ("slot", first, None),
        ("slot_take_out", first, None),
        ("part_duplicate", slots[2].part, {}),
        ("part_move", slots[2].part, {"way": "up"}),
        ("part_take_out", slots[2].part, None),
    ):
        sent = typed(row, **({"amount": 9} if act == "slot" else {})) if sent is None else sent
        assert coach.post(url(act, session, row.pk), sent).status_code == 302
        assert stored(session) != was[-1]
        was.append(stored(session))
    for before in reversed(was[:-1]):
        undo_last(coach, session)
        assert stored(session) == before
    assert shown(coach, session) == ""
    assert "There is nothing to undo here" in undo(coach, session)


def test_name_day_place_minutes_and_note_are_undone_too_and_the_page_says_them_as_they_were(
    coach, session
):
    before = stored(session)
    day = session.date + dt.timedelta(days=2)
    sent = facts(session, name="Quiet feet", date=day, place="venue", target_minutes="30", note="!")
    html = coach.post(url("session_facts", session), sent, headers=HTMX).content.decode()
    assert "<h1>Quiet feet</h1>" in html
    html = undo(coach, session)
    assert stored(session) == before
    assert "<h1>Strong steps</h1>" in html
    assert "Monday 2 November, at home" in " ".join(html.split())


def test_a_day_that_the_block_does_not_hold_any_more_stays_as_it_is(coach, session):
    later = session.date + dt.timedelta(days=2)
    coach.post(url("session_facts", session), facts(session, date=later))
    type(session.block).objects.update(starts_on=later)
    assert "The block does not hold Monday 2 November" in undo(coach, session)
    assert Session.objects.get().date == later


def test_each_of_two_tabs_undoes_what_it_shows(coach, session, slots):
    gives(coach, session, slots[0], 9)
    in_the_first = shown(coach, session)
    gives(coach, session, slots[1], 7)
    undo(coach, session, in_the_first)
    assert amounts(slots[:2]) == [8, 7]
    # It is undone once, and the other tab's is still to be undone.
    assert "it was undone already" in undo(coach, session, in_the_first)
    undo(coach, session)
    assert amounts(slots[:2]) == [8, 8]


def test_what_another_tab_has_changed_again_stays(coach, session, slots):
    gives(coach, session, slots[0], 9)
    in_the_first = shown(coach, session)
    gives(coach, session, slots[0], 7)
    assert "Exercise 1a was changed since, so it stays" in undo(coach, session, in_the_first)
    assert amounts(slots[:1]) == [7]


def test_two_coaches_undo_each_their_own(two, session, slots):
    gives(two[0], session, slots[0], 9)
    gives(two[1], session, slots[1], 7)
    gives(two[0], session, slots[2], 6)
    undo_last(two[0], session)
    undo_last(two[0], session)
    assert amounts(slots[:3]) == [8, 7, 8]
    assert shown(two[0], session) == ""
    undo_last(two[1], session)
    assert amounts(slots[:3]) == [8, 8, 8]


def test_what_the_other_coach_has_changed_again_stays_and_the_edit_before_can_be_undone(
    two, session, slots
):
    gives(two[0], session, slots[1], 7)
    gives(two[0], session, slots[0], 9)
    gives(two[1], session, slots[0], 10)
    assert "Exercise 1a was changed since, so it stays" in undo(two[0], session)
    undo(two[0], session)
    assert amounts(slots[:2]) == [10, 8]


def test_whoever_has_the_row_open_is_told_that_it_was_undone(two, session, slots):
    gives(two[0], session, slots[0], 9)
    open_there = typed(slots[0], amount=10)
    undo(two[0], session)
    answer = two[1].post(url("slot", session, slots[0].pk), open_there, headers=HTMX)
    assert answer.status_code == 409
    assert "yours <b>10</b>, theirs <b>8</b>" in answer.content.decode()


@pytest.mark.django_db(transaction=True)
def test_of_undoing_and_changing_it_further_at_the_same_moment_one_is_done_and_one_is_told(
    two, session, slots
):
    gives(two[0], session, slots[0], 9)
    edit, further = shown(two[0], session), typed(slots[0], amount=10)

    def change() -> int:
        return two[1].post(url("slot", session, slots[0].pk), further, headers=HTMX).status_code

    said, status = together(lambda: undo(two[0], session, edit), change)
    was_refused = "was changed since" in said
    assert (status, amounts(slots[:1])) == ((200, [10]) if was_refused else (409, [8]))


def test_what_others_have_built_upon_stays(two, cast, session, slots):
    two[0].post(url("part_new", session), {"kind": "circuit"})
    added = Part.objects.latest("pk")
    SlotFactory(part=added)
    assert "Something was put into the part since, so it stays." in undo(two[0], session)
    assert Part.objects.filter(pk=added.pk).exists()

    two[0].post(url("slot_duplicate", session, slots[0].pk))
    copy = Slot.objects.latest("pk")
    Override.objects.create(slot=copy, child=cast.child)
    assert "Something is decided for a child" in undo(two[0], session)
    assert Override.objects.get().slot == copy


def test_ten_edits_are_kept_and_an_edit_that_changes_nothing_is_none(coach, session, slots):
    for amount in range(1, 13):
        gives(coach, session, slots[0], amount)
    names = names_of(session)
    for _ in range(10):
        undo_last(coach, session)
    # Of twelve amounts, of which the eighth was no change of none: 2 was there before the last ten.
    assert amounts(slots[:1]) == [2]
    assert names_of(session) == names
    assert shown(coach, session) == ""
