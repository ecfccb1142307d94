"""Two coaches at one session: whoever comes second is told, and nothing is lost or hidden."""

import pytest

from program.models import Session, Slot
from tests.support.planning import HTMX, session_of, typed, url
from tests.support.together import together


@pytest.fixture
def session(cast):
    return session_of(cast.cohort)


@pytest.fixture
def slot(session):
    return Slot.objects.filter(part__session=session).first()


@pytest.fixture
def two(cast, client_for):
    """The owning coach and the head coach."""
    return client_for(cast.coach), client_for(cast.head_coach)


@pytest.mark.django_db
def test_the_second_of_two_changes_to_one_value_is_shown_both_and_writes_nothing(
    two, slot, session
):
    mine, theirs = typed(slot, amount="12"), typed(slot, amount="10")
    assert two[1].post(url("slot", session, slot.pk), theirs, headers=HTMX).status_code == 200
    answer = two[0].post(url("slot", session, slot.pk), mine, headers=HTMX)
    html = answer.content.decode()
    assert answer.status_code == 409
    assert "yours <b>12</b>, theirs <b>10</b>" in html
    assert 'name="over" value="2"' in html
    slot.refresh_from_db()
    assert slot.amount == 10


@pytest.mark.django_db
def test_without_scripting_the_field_still_holds_mine_and_theirs_stands_beside_it(
    two, slot, session
):
    mine = typed(slot, amount="12")
    two[1].post(url("slot", session, slot.pk), typed(slot, amount="10"))
    answer = two[0].post(url("slot", session, slot.pk), mine)
    html = answer.content.decode()
    assert answer.status_code == 409
    assert "yours <b>12</b>, theirs <b>10</b>" in html
    field = html.partition(f'id="slot-{slot.pk}-amount"')[0].rpartition("<input")[2]
    assert 'value="12"' in field


@pytest.mark.django_db
def test_who_keeps_theirs_after_seeing_it_writes_over_that_very_version_only(two, slot, session):
    mine = typed(slot, amount="12")
    two[1].post(url("slot", session, slot.pk), typed(slot, amount="10"))
    two[1].post(url("slot", session, slot.pk), typed(slot, amount="7"))
    address = url("slot", session, slot.pk)
    assert two[0].post(address, mine | {"over": "2"}, headers=HTMX).status_code == 409
    assert two[0].post(address, mine | {"over": "3"}, headers=HTMX).status_code == 200
    slot.refresh_from_db()
    assert slot.amount == 12


@pytest.mark.django_db
def test_changes_to_different_values_of_one_slot_are_both_kept(two, slot, session):
    mine = typed(slot, note="quiet foot")
    two[1].post(url("slot", session, slot.pk), typed(slot, amount="10"))
    assert two[0].post(url("slot", session, slot.pk), mine).status_code == 302
    slot.refresh_from_db()
    assert (slot.amount, slot.note, slot.version) == (10, "quiet foot", 3)


@pytest.mark.django_db
def test_the_same_change_made_twice_is_no_clash(two, slot, session):
    mine = typed(slot, amount="10")
    two[1].post(url("slot", session, slot.pk), typed(slot, amount="10"))
    assert two[0].post(url("slot", session, slot.pk), mine, headers=HTMX).status_code == 200


@pytest.mark.django_db
def test_a_form_that_says_nothing_of_what_it_saw_never_writes_over_a_newer_version(
    two, slot, session
):
    Slot.objects.filter(pk=slot.pk).update(amount=10, version=2)
    bare = {name: value for name, value in typed(slot, amount="12").items() if "seen" not in name}
    answer = two[0].post(url("slot", session, slot.pk), bare | {"version": "1"}, headers=HTMX)
    assert answer.status_code == 409
    slot.refresh_from_db()
    assert slot.amount == 10


@pytest.mark.django_db
def test_taking_theirs_shows_the_line_as_it_is_stored(two, slot, session):
    Slot.objects.filter(pk=slot.pk).update(amount=10, version=2)
    html = two[0].get(url("slot", session, slot.pk), headers=HTMX).content.decode()
    assert 'name="amount" value="10"' in html
    assert "<h1>" not in html
    assert two[0].get(url("slot", session, slot.pk)).url == url("build", session)


@pytest.mark.django_db
def test_who_saves_after_another_coach_is_shown_the_others_changes_too(two, slot, session):
    mine = typed(slot, amount="12")
    part = slot.part
    two[1].post(url("part", session, part.pk), typed(part, name="Renamed"))
    answer = two[0].post(url("slot", session, slot.pk), mine, headers=HTMX)
    assert answer.headers["HX-Retarget"] == "#parts"
    assert 'value="Renamed"' in answer.content.decode()


@pytest.mark.django_db
def test_a_part_clashes_like_a_slot(two, slot, session):
    part = slot.part
    mine = typed(part, rounds="4")
    two[1].post(url("part", session, part.pk), typed(part, rounds="2"))
    answer = two[0].post(url("part", session, part.pk), mine, headers=HTMX)
    assert answer.status_code == 409
    assert "yours <b>4</b>, theirs <b>2</b>" in answer.content.decode()


def facts(session, **changes):
    session = Session.objects.get(pk=session.pk)
    shown = {
        "name": session.name,
        "date": session.date.isoformat(),
        "place": session.place,
        "target_minutes": session.target_minutes,
        "note": session.note,
    }
    seen = {f"seen-{name}": value for name, value in shown.items()}
    return shown | seen | {"version": session.version} | changes


@pytest.mark.django_db
def test_a_sessions_facts_clash_and_saving_again_keeps_mine(two, session):
    mine = facts(session, name="Mine")
    two[1].post(url("session_facts", session), facts(session, name="Theirs", note="Water"))
    answer = two[0].post(url("session_facts", session), mine)
    html = answer.content.decode()
    assert answer.status_code == 409
    assert "yours <b>Mine</b>, theirs <b>Theirs</b>" in html
    session.refresh_from_db()
    assert session.name == "Theirs"
    assert 'name="seen-name" value="Theirs"' in html
    seen_now = {"seen-name": "Theirs", "version": session.version}
    assert two[0].post(url("session_facts", session), mine | seen_now).status_code == 302
    session.refresh_from_db()
    assert (session.name, session.note) == ("Mine", "Water")


@pytest.mark.django_db
def test_an_edited_dose_does_not_clash_with_an_open_form_of_the_facts(two, slot, session):
    mine = facts(session, name="Mine")
    two[1].post(url("slot", session, slot.pk), typed(slot, amount="10"))
    assert two[0].post(url("session_facts", session), mine).status_code == 302
    session.refresh_from_db()
    assert session.name == "Mine"


@pytest.mark.django_db(transaction=True)
def test_of_two_changes_at_the_same_moment_one_is_written_and_one_is_told(two, slot, session):
    sent = [typed(slot, amount="12"), typed(slot, amount="10")]

    def post(which: int) -> int:
        answer = two[which].post(url("slot", session, slot.pk), sent[which], headers=HTMX)
        return answer.status_code

    answers = together(lambda: post(0), lambda: post(1))
    slot.refresh_from_db()
    assert sorted(answers) == [200, 409]
    assert slot.amount == int(sent[answers.index(200)]["amount"])


@pytest.mark.django_db(transaction=True)
def test_moves_at_the_same_moment_leave_every_slot_in_one_place(two, cast):
    session = session_of(cast.cohort, slots=6)
    slots = list(Slot.objects.filter(part__session=session))

    def move(which: int) -> None:
        for slot in slots:
            two[which].post(url("slot_move", session, slot.pk), {"way": ["up", "down"][which]})

    together(lambda: move(0), lambda: move(1))
    positions = Slot.objects.filter(part__session=session).values_list("position", flat=True)
    assert sorted(positions) == list(range(6))
