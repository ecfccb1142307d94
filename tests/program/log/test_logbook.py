import datetime as dt

import pytest

from program.log.logbook import (
    LogEntry,
    LogRefused,
    SlotEntry,
    state_from_amounts,
    write_log,
)
from program.models import AssignedSession, Completion
from tests.support.family import EVENING, assign, give
from tests.support.together import together

LATER = EVENING + dt.timedelta(minutes=20)


def current(assigned) -> AssignedSession:
    return AssignedSession.objects.select_related("completion").get(pk=assigned.pk)


def log(assigned, by, now=EVENING, seen=None, **said) -> Completion:
    entry = LogEntry(**({"state": "done"} | said))
    seen = current(assigned).mark if seen is None else seen
    return write_log(assigned, entry, by=by, now=now, seen=seen)


@pytest.mark.django_db
def test_a_log_says_what_when_and_by_whom_and_the_session_has_begun(cast):
    assigned = assign(cast.child)
    log(assigned, cast.guardian, effort=4, enjoyment=5, minutes=21, note="Giggles")
    written = Completion.objects.get()
    assert (written.state, written.effort, written.enjoyment) == ("done", 4, 5)
    assert (written.minutes, written.note) == (21, "Giggles")
    assert (written.logged_by, written.logged_at) == (cast.guardian, EVENING)
    assert written.edited_at is None
    assert current(assigned).started_at == EVENING


@pytest.mark.django_db
def test_a_session_that_was_not_done_has_no_effort_and_has_not_begun(cast):
    assigned = assign(cast.child)
    slot = give(assigned, "Sit to stand")
    log(
        assigned,
        cast.guardian,
        state="not",
        effort=4,
        minutes=20,
        note="Fever",
        results=(SlotEntry(slot, "done"),),
    )
    written = Completion.objects.get()
    assert (written.state, written.effort, written.minutes) == ("not", None, None)
    assert written.note == "Fever"
    assert not written.results.exists()
    assert current(assigned).started_at is None


@pytest.mark.django_db
def test_the_same_said_twice_is_one_log_and_no_edit(cast):
    assigned = assign(cast.child)
    slot = give(assigned, "Step-up", revision__sides="each")
    said = {"effort": 4, "results": (SlotEntry(slot, "some", amount_left=8, amount_right=6),)}
    first = current(assigned).mark
    log(assigned, cast.guardian, seen=first, **said)
    log(assigned, cast.guardian, seen=first, now=LATER, **said)
    written = Completion.objects.get()
    assert (written.logged_at, written.edited_at) == (EVENING, None)
    assert list(written.results.values_list("amount_left", "amount_right")) == [(8, 6)]


@pytest.mark.django_db
def test_saying_something_else_is_an_edit_and_shows_who_and_when(cast):
    assigned = assign(cast.child)
    slot = give(assigned, "Step-up")
    log(assigned, cast.guardian, effort=4, results=(SlotEntry(slot, "done", amount=8),))
    log(assigned, cast.coach, now=LATER, effort=6)
    written = Completion.objects.get()
    assert (written.effort, written.logged_by, written.logged_at) == (6, cast.guardian, EVENING)
    assert (written.edited_by, written.edited_at) == (cast.coach, LATER)
    assert not written.results.exists()


@pytest.mark.django_db
def test_nobody_writes_over_a_log_they_have_not_seen(cast):
    assigned = assign(cast.child)
    blank = current(assigned).mark
    log(assigned, cast.guardian, seen=blank, effort=4)
    with pytest.raises(LogRefused, match=r"Own Parent has logged .* done, effort 4 of 10"):
        log(assigned, cast.athlete, seen=blank, now=LATER, effort=9)
    assert Completion.objects.get().effort == 4
    log(assigned, cast.athlete, now=LATER, effort=9)
    assert Completion.objects.get().effort == 9


@pytest.mark.django_db
def test_a_session_published_anew_meanwhile_is_not_logged_unseen(cast):
    assigned = assign(cast.child)
    seen = current(assigned).mark
    AssignedSession.objects.update(fingerprint="another")
    with pytest.raises(LogRefused, match="The coach changed this session"):
        log(assigned, cast.guardian, seen=seen)
    AssignedSession.objects.all().delete()
    with pytest.raises(LogRefused, match="The coach changed this session"):
        log(assigned, cast.guardian, seen=seen)
    assert not Completion.objects.exists()


@pytest.mark.parametrize(
    ("amounts", "state"),
    [
        ([8], "done"),
        ([9, 8], "done"),
        ([8, 6], "some"),
        ([0, 3], "some"),
        ([0, 0], "not"),
        ([], "done"),
    ],
)
def test_amounts_speak_for_themselves_where_nobody_chose(amounts, state):
    assert state_from_amounts(8, amounts) == state


@pytest.mark.django_db(transaction=True)
def test_two_parents_who_press_save_at_once_leave_one_log(cast):
    assigned = assign(cast.child)
    blank = current(assigned).mark

    def save(person, effort):
        try:
            log(assigned, person, seen=blank, effort=effort)
        except LogRefused:
            return "told"
        return "written"

    outcomes = together(lambda: save(cast.guardian, 4), lambda: save(cast.athlete, 7))
    assert sorted(outcomes) == ["told", "written"]
    assert Completion.objects.get().edited_at is None
