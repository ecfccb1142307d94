import datetime as dt
from dataclasses import replace

import pytest
from django.urls import reverse
from django.utils import timezone

from library.models import Exercise
from program.common.library_snapshot import library_snapshot
from program.fit.who_gets_what import children_of, who_gets_what
from program.models import Override, Session
from program.publish.deciding import remove_override
from program.publish.fitting import fit_and_check
from program.publish.publishing import publish
from tests.support.deciding import set_override
from tests.support.factories import (
    MONDAY,
    ChildFactory,
    ExerciseFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
    UserFactory,
)
from tests.support.family import text
from tests.support.sliding import has, session_with, spare_the_thigh
from tests.support.work import work_off

pytestmark = pytest.mark.django_db


@pytest.fixture
def session(cast, slides):
    return session_with(cast.cohort)


def sheet_of(session):
    written = Session.objects.with_slots().get(pk=session.pk)
    children = children_of(written)
    fitted, words = fit_and_check(written, children)
    return who_gets_what(fitted, words, children, UserFactory(role="head_coach"))


def slot_of(session):
    return session.parts.get().slots.get()


def cell(name, session, child, **more):
    return reverse(
        f"program:{name}",
        kwargs={
            "session_id": session.pk,
            "slot_id": slot_of(session).pk,
            "child_id": child.public_id,
        }
        | more,
    )


def test_the_counts_add_up_to_the_cohort(cast, session):
    tiled, spared = (ChildFactory(cohort=cast.cohort) for _ in range(2))
    has(cast.child, "carpet")
    has(tiled, "smooth-floor")
    spare_the_thigh(spared)
    sheet = sheet_of(session)
    assert sheet.columns[0].bar.sentence == "1 as written, 1 easier, 1 to decide"
    assert (len(sheet.rows), sheet.waiting, len(sheet.different_rows)) == (3, 1, 2)


def test_builder_and_table_say_the_number_of_children_that_publishing_then_sends_it_to(
    cast, session, coach
):
    """Of four, one waits for a choice, and of one everything is left out: two get it."""
    waits, without, _ = (ChildFactory(cohort=cast.cohort) for _ in range(3))
    spare_the_thigh(waits)
    set_override(slot_of(session), without, None, "", cast.coach, timezone.now())
    table = reverse("program:who_gets_what", args=[session.pk])
    builder = reverse("program:fit_counts", args=[session.pk])
    assert "Send to 2 of 4" in text(coach.get(table))
    assert 'id="reaches" hx-swap-oob="true">to 2 of 4<' in coach.get(builder).content.decode()
    assert publish(session, cast.coach, timezone.now()).new == 2
    # Another exercise: who waits for one gets the other once the coach says so.
    gentle = ExerciseFactory(revision__loads=["ankle"])
    SlotFactory(part=session.parts.get(), position=1, exercise=gentle)
    publish(session, cast.coach, timezone.now(), goes_out_incomplete=True)
    assert "Send to 4" in text(coach.get(table))
    assert session.assigned.count() == 4


def test_whoever_needs_the_coach_is_named_first(cast, session):
    spared = ChildFactory(given_name="Zed", cohort=cast.cohort)
    has(cast.child, "carpet")
    spare_the_thigh(spared)
    (column,) = sheet_of(session).columns
    assert [each.child for each in column.different] == [spared, cast.child]


def test_a_reason_that_is_given_twice_is_said_once(cast, session):
    spare_the_thigh(cast.child)
    ((place,),) = (row.cells for row in sheet_of(session).rows)
    assert replace(place, reasons=place.reasons * 2).why == place.why


def test_the_builders_margin_says_who_and_why(cast, session, client_for):
    has(cast.child, "carpet")
    answer = client_for(cast.coach).get(reverse("program:fit_counts", args=[session.pk]))
    page = answer.content.decode()
    assert "1 easier" in page
    assert "no smooth floor for sliding: heel walk out instead" in page


def test_the_table_can_be_filtered_to_the_differences(cast, session, client_for):
    tiled = ChildFactory(given_name="Tiled", cohort=cast.cohort)
    has(tiled, "smooth-floor")
    has(cast.child, "carpet")
    coach, address = client_for(cast.coach), reverse("program:who_gets_what", args=[session.pk])
    assert "Tiled T." in coach.get(address).content.decode()
    filtered = coach.get(f"{address}?different").content.decode()
    assert "Tiled T." not in filtered
    assert "Mira T." in filtered


def test_an_empty_session_and_an_empty_cohort_are_told_in_words(cast, session, client_for):
    coach = client_for(cast.coach)
    address = reverse("program:who_gets_what", args=[session.pk])
    empty = SessionFactory(block=session.block, name="Still empty")
    html = coach.get(reverse("program:who_gets_what", args=[empty.pk])).content.decode()
    assert "Nothing to give yet" in html
    assert (
        f'href="{reverse("program:build", args=[empty.pk])}">Write the first exercise</a>' in html
    )
    assert "0 of 0" not in html
    cast.child.enrolments.all().delete()
    html = coach.get(address).content.decode()
    assert "Nobody is in this cohort on that day" in html
    assert "0 of 0" not in html


def test_a_coach_chooses_by_hand_and_the_family_reads_why(cast, session, client_for):
    has(cast.child, "smooth-floor")
    publish(session, cast.coach, timezone.now())
    answer = client_for(cast.coach).post(
        cell("decision", session, cast.child),
        {"choice": "heel-walk-out", "note": "Just until the competition."},
    )
    assert answer.status_code == 302
    assigned = session.assigned.get().slots.get()
    assert (assigned.revision.exercise.slug, assigned.outcome) == ("heel-walk-out", "coach_choice")
    assert assigned.note == "Just until the competition."
    assert sheet_of(session).rows[0].cells[0].word == "your choice"


def test_what_breaks_a_limit_is_not_offered_and_is_refused_at_the_field(cast, session, client_for):
    has(cast.child, "carpet")
    coach = client_for(cast.coach)
    page = coach.get(cell("decision", session, cast.child)).content.decode()
    assert '<option value="one-leg-slide"' not in page
    assert "no smooth floor for sliding" in page
    refused = coach.post(cell("decision", session, cast.child), {"choice": "one-leg-slide"})
    assert "That one is not allowed for this child now." in refused.content.decode()
    assert not Override.objects.exists()


def test_leaving_out_the_only_undecided_slot_lets_the_rest_go_out(cast, session):
    other = PartFactory(session=session, position=1)
    SlotFactory(
        part=other,
        exercise=ExerciseFactory(
            slug="wall-sit", revision__loads=["wrist_hand"], revision__moves=[]
        ),
    )
    spare_the_thigh(cast.child)
    publish(session, cast.coach, timezone.now())
    assert not session.assigned.exists()
    slot = session.parts.get(position=0).slots.get()
    set_override(slot, cast.child, None, "", cast.coach, timezone.now())
    publish(session, cast.coach, timezone.now())
    (assigned,) = session.assigned.get().slots.all()
    assert assigned.revision.exercise.slug == "wall-sit"


def test_taking_a_choice_back_lets_fit_decide_again(cast, session):
    has(cast.child, "smooth-floor")
    publish(session, cast.coach, timezone.now())
    walk = Exercise.objects.get(slug="heel-walk-out")
    set_override(slot_of(session), cast.child, walk, "", cast.coach, timezone.now())
    remove_override(slot_of(session), cast.child, timezone.now())
    assert session.assigned.get().slots.get().outcome == "as_written"


def test_deciding_twice_keeps_one_decision(cast, session, client_for):
    has(cast.child, "smooth-floor")
    coach = client_for(cast.coach)
    for choice in ("heel-walk-out", "leave-out"):
        coach.post(cell("decision", session, cast.child), {"choice": choice})
    assert Override.objects.get().exercise is None


def test_asking_the_family_mails_each_guardian_with_no_more_than_the_given_name(
    cast, session, client_for, mailoutbox
):
    client_for(cast.coach).post(cell("ask_family", session, cast.child))
    work_off()
    (mail,) = mailoutbox
    assert (mail.subject, mail.to) == ("What is at home?", [cast.guardian.email])
    assert "Mira" in mail.body
    assert cast.child.family_initial + "." not in mail.body
    assert reverse("athletes:kit", args=[cast.child.public_id]) in mail.body


def test_a_child_of_another_cohort_is_not_in_this_sessions_table(cast, session, client_for):
    coach = client_for(cast.head_coach)
    assert coach.get(cell("decision", session, cast.other_child)).status_code == 404


def test_a_slot_of_another_session_is_not_found_through_this_one(cast, session, client_for):
    elsewhere = SlotFactory(part=PartFactory(session=SessionFactory(block=session.block)))
    address = cell("decision", session, cast.child, slot_id=elsewhere.pk)
    assert client_for(cast.coach).get(address).status_code == 404


def test_another_cohorts_coach_sees_none_of_it(cast, session, client_for):
    stranger = client_for(cast.other_coach)
    for name in ("who_gets_what", "fit_counts"):
        assert stranger.get(reverse(f"program:{name}", args=[session.pk])).status_code == 404


@pytest.mark.parametrize("name", ["who_gets_what", "fit_counts"])
def test_the_table_takes_fourteen_queries_for_two_children_as_for_thirty(
    cast, session, client_for, django_assert_max_num_queries, name
):
    coach, address = client_for(cast.coach), reverse(f"program:{name}", args=[session.pk])

    def cost() -> int:
        library_snapshot()
        with django_assert_max_num_queries(14) as counted:
            coach.get(address)
        return len(counted)

    has(cast.child, "carpet")
    few = cost()
    for _ in range(29):
        ChildFactory(cohort=cast.cohort).restrictions.create(
            region="knee", kind="no_landing", start=MONDAY, until=MONDAY + dt.timedelta(days=7)
        )
    part = session.parts.get()
    for position in range(1, 6):
        SlotFactory(part=part, position=position)
    assert cost() == few
