"""An exercise's intent across a block: the drafts follow it, and nothing else does."""

import datetime as dt
import re

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from program.blocks.progressions import lane_of, progression_sheet
from program.blocks.queries import sessions_of
from program.models import Block, Progression, Session, Slot
from program.publish.publishing import publish
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    ExerciseFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.markup import markup
from tests.support.planning import HTMX, MOST_QUERIES, queries_of

pytestmark = pytest.mark.django_db
WEEK = dt.timedelta(weeks=1)


@pytest.fixture
def block(cast):
    return BlockFactory(cohort=cast.cohort)


@pytest.fixture
def plank(db):
    return ExerciseFactory(
        revision__name="Plank",
        revision__pattern="front_brace",
        revision__measure="seconds",
        revision__tempo="",
        revision__low=5,
        revision__usual=10,
        revision__high=20,
    )


def written(block, exercise, week, name="Strong steps", amount=10, days=0, **part) -> Slot:
    day = MONDAY + (week - 1) * WEEK + dt.timedelta(days=days)
    session = SessionFactory(block=block, name=name, date=day)
    part = PartFactory(session=session, **part)
    return SlotFactory(part=part, exercise=exercise, amount=amount, tempo="")


def means(client, slot, **said):
    address = reverse("program:intent", args=[slot.part.session_id, slot.pk])
    return client.post(address, said, follow=True)


def grow(client, slot, **said):
    return means(client, slot, **{"kind": "grow", "start": 10, "step": 5, "top": 20} | said)


def amounts(*slots) -> list[int]:
    return [Slot.objects.get(pk=slot.pk).amount for slot in slots]


def lanes(block):
    return progression_sheet(block, sessions_of(block)).lanes


def test_a_hold_grows_over_the_weeks_and_the_board_says_so(coach, block, plank):
    slots = [written(block, plank, week) for week in (1, 2, 3, 4)]
    html = markup(grow(coach, slots[0]))
    assert amounts(*slots) == [10, 15, 20, 20]
    assert "Plank: 10, 5 more each week, up to 20. 3 drafts changed." in html
    assert "Progressions" in html


def test_another_start_computes_the_drafts_anew_and_leaves_what_is_published(
    cast, coach, block, plank
):
    slots = [written(block, plank, week) for week in (1, 2, 3)]
    grow(coach, slots[0])
    publish(slots[0].part.session, cast.coach, timezone.now())
    before = Session.objects.values("version", "edited_at").get(pk=slots[0].part.session_id)
    html = markup(grow(coach, slots[1], start=12, first_week=1))
    # 12, 17, 20: the first week went out with 10 and keeps it.
    assert amounts(*slots) == [10, 17, 20]
    assert "1 draft changed. 1 published session stays as sent." in html
    after = Session.objects.values("version", "edited_at").get(pk=slots[0].part.session_id)
    assert after == before
    assert Session.objects.get(pk=slots[1].part.session_id).edited_by == cast.coach


def test_a_week_away_moves_nothing_on(coach, block, plank):
    first, later = written(block, plank, 1), written(block, plank, 3)
    grow(coach, first)
    assert amounts(first, later) == [10, 15]


def test_two_sessions_of_one_week_have_the_same_amount(coach, block, plank):
    slots = [written(block, plank, 1), written(block, plank, 1, days=2), written(block, plank, 2)]
    grow(coach, slots[0])
    assert amounts(*slots) == [10, 10, 15]


def test_growth_set_in_week_five_begins_in_week_five(coach, block, plank):
    slots = [written(block, plank, week) for week in (1, 4, 5, 6, 7)]
    grow(coach, slots[2])
    # 10 in the fifth, 15, 20; what stands before it is nobody's business.
    assert amounts(*slots) == [10, 10, 10, 15, 20]
    Slot.objects.filter(pk=slots[0].pk).update(amount=7)
    (lane,) = lanes(block)
    assert [week.amount for week in lane.weeks] == [None, None, None, None, 10, 15, 20, None]
    assert lane.follows == 0
    assert grow(coach, slots[2], first_week=9).status_code == 422


def test_sessions_of_another_name_and_other_exercises_stay(coach, block, plank):
    slot = written(block, plank, 1)
    elsewhere = written(block, plank, 2, name="Long backs", amount=7)
    other = written(block, ExerciseFactory(), 2, amount=7)
    grow(coach, slot)
    assert amounts(elsewhere, other) == [7, 7]


def test_another_block_of_the_cohort_stays(cast, coach, block, plank):
    slot = written(block, plank, 1)
    starts = MONDAY + 9 * WEEK
    later = BlockFactory(cohort=cast.cohort, starts_on=starts, ends_on=starts + WEEK)
    other = written(later, plank, 10, amount=7)
    grow(coach, slot)
    assert amounts(other) == [7]


def test_a_wave_changes_the_rounds_of_the_part(coach, block, plank):
    slots = [written(block, plank, week, rounds=1) for week in (1, 2, 3, 4, 5)]
    means(coach, slots[0], kind="wave", start=10, wave="2-3-3-deload")
    assert [Slot.objects.get(pk=slot.pk).part.rounds for slot in slots] == [2, 3, 3, 2, 2]


def test_one_part_has_one_wave(coach, block, plank):
    slot = written(block, plank, 1)
    beside = SlotFactory(part=slot.part, position=1, exercise=ExerciseFactory())
    means(coach, slot, kind="wave", start=10, wave="2-3")
    html = markup(means(coach, beside, kind="wave", start=8, wave="3-4"))
    assert "The rounds of this part follow Plank already: one wave a part." in html
    assert Progression.objects.count() == 1


def looks(client, slot, **said):
    asked = {"kind": "grow", "start": 10, "step": 5, "top": 20, "look": 1} | said
    address = reverse("program:intent", args=[slot.part.session_id, slot.pk])
    return client.post(address, asked, headers=HTMX)


def told(answer):
    """The amounts of the weeks, and all that is said."""
    html = markup(answer)
    return re.findall(r"<b class=\"num\">(.*?)</b>", html), html


def test_what_each_week_would_get_is_shown_before_anything_moves(cast, coach, block, plank):
    slots = [written(block, plank, week) for week in (1, 2, 4)]
    publish(slots[0].part.session, cast.coach, timezone.now(), because="We know.")
    Slot.objects.filter(pk=slots[0].pk).update(amount=8)
    amounts_seen, html = told(looks(coach, slots[1], first_week=1))
    # Week 3 is without it and moves nothing on.
    assert amounts_seen == ["10", "15", "20"]
    assert "sent 8" in html
    assert "It gets to 20 in week 4." in html
    assert "It stays within the 5 to 20 Plank is used with." in html
    assert "2 drafts would change. 1 published session would stay as sent." in html
    assert amounts(*slots) == [8, 10, 10]
    assert not Progression.objects.exists()


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        # 10, 15, 20, then 20 again.
        ({}, "It gets to 20 in week 3 and stays there."),
        # The last step is a short one: 10, 14, 18, 20.
        ({"step": 4}, "It gets to 20 in week 4."),
        # 10, 12, 14, 16.
        ({"step": 2}, "It gets to 16 in week 4, its last, not to 20."),
        # 10, 15, 20, 21: one over the edge.
        ({"top": 21}, "Week 4: 21 is more than the 5 to 20 it is used with."),
        # 4 is one below it.
        ({"start": 4, "step": 1}, "Week 1: 4 is less than the 5 to 20 it is used with."),
        ({"start": 5, "step": 1}, "It stays within the 5 to 20"),
        ({"kind": "stay", "start": 21}, "Weeks 1, 2, 3, 4: 21 is more than the 5 to 20"),
        ({"top": 601}, "Choose between 1 and 600."),
        ({"top": 10}, "It grows up to more than the 10 it starts with."),
    ],
)
def test_the_edges_of_the_range_have_a_clear_answer_before_anything_moves(
    coach, block, plank, said, answer
):
    slots = [written(block, plank, week) for week in (1, 2, 3, 4)]
    assert answer in told(looks(coach, slots[0], **said))[1]
    assert amounts(*slots) == [10] * 4


def test_without_scripting_the_page_shows_it_with_what_was_typed(coach, block, plank):
    slot = written(block, plank, 1)
    answer = means(coach, slot, kind="grow", start=12, step=5, top=20, look=1)
    html = markup(answer)
    assert answer.status_code == 200
    assert "Each week would get" in html
    assert 'value="12"' in html
    assert amounts(slot) == [10]


def test_amounts_outside_the_exercises_range_are_said_not_forbidden(coach, block, plank):
    slots = [written(block, plank, week) for week in (1, 2, 3, 4)]
    html = markup(grow(coach, slots[0], top=30))
    assert amounts(*slots) == [10, 15, 20, 25]
    assert "Week 4: 25 is more than the 5 to 20 it is used with." in html


def test_a_draft_that_was_edited_since_is_shown_and_follows_when_asked(coach, block, plank):
    slots = [written(block, plank, week) for week in (1, 2)]
    grow(coach, slots[0])
    Slot.objects.filter(pk=slots[1].pk).update(amount=9)
    (lane,) = lanes(block)
    assert [week.written for week in lane.weeks[:2]] == ["", "9"]
    html = markup(coach.get(reverse("program:block", args=[block.pk])))
    assert "1 draft says something else." in html
    answer = coach.post(reverse("program:intents_follow", args=[block.pk]), follow=True)
    assert "1 draft changed." in markup(answer)
    assert amounts(*slots) == [10, 15]


def test_a_session_copied_to_another_week_comes_along(coach, block, plank):
    first = written(block, plank, 1)
    grow(coach, first)
    copied = written(block, plank, 2)
    (lane,) = lanes(block)
    assert [week.amount for week in lane.weeks[:3]] == [10, 15, None]
    coach.post(reverse("program:intents_follow", args=[block.pk]))
    assert amounts(first, copied) == [10, 15]


def test_a_second_word_replaces_the_first(coach, block, plank):
    slot = written(block, plank, 1)
    grow(coach, slot)
    means(coach, slot, kind="stay", start=12)
    progression = Progression.objects.get()
    assert str(progression) == "stays at 12 until ready"
    assert amounts(slot) == [12]


def test_meaning_nothing_leaves_every_week_as_written(coach, block, plank):
    slots = [written(block, plank, week) for week in (1, 2)]
    grow(coach, slots[0])
    end = reverse("program:intent_end", args=[slots[0].part.session_id, slots[0].pk])
    assert "stands as written from now on" in markup(coach.post(end, follow=True))
    assert amounts(*slots) == [10, 15]
    assert not Progression.objects.exists()
    assert "It has no progression in this block" in markup(coach.post(end, follow=True))


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"start": "0"}, "Choose between 1 and 600."),
        ({"start": "-3"}, "Choose between 1 and 600."),
        ({"start": "99999"}, "Choose between 1 and 600."),
        ({"start": ""}, "This field is required."),
        ({"top": "10"}, "It grows up to more than the 10 it starts with."),
        ({"step": ""}, "Say how much is added"),
        ({"every": "27"}, "Choose between 1 and 26 weeks."),
        ({"kind": "wave", "wave": "lots"}, "Write the rounds of each week"),
        ({"kind": "wave", "wave": "3-0"}, "1 to 10 rounds"),
        ({"kind": "sideways"}, "Select a valid choice"),
    ],
)
def test_nonsense_is_refused_with_the_reason_and_nothing_moves(coach, block, plank, said, why):
    slot = written(block, plank, 1)
    answer = grow(coach, slot, **said)
    assert answer.status_code == 422
    assert why in markup(answer)
    assert amounts(slot) == [10]
    assert not Progression.objects.exists()


def test_a_block_of_26_weeks_has_26_of_them(coach, cast, plank):
    long = BlockFactory(cohort=cast.cohort, ends_on=MONDAY + 26 * WEEK - dt.timedelta(days=1))
    slots = [written(long, plank, week) for week in (1, 26)]
    grow(coach, slots[0])
    (lane,) = lanes(long)
    assert len(lane.weeks) == 26
    assert amounts(*slots) == [10, 15]


def test_another_cohorts_coach_means_nothing_here(cast, client_for, block, plank):
    slot = written(block, plank, 1)
    stranger = client_for(cast.other_coach)
    assert grow(stranger, slot).status_code == 404
    follow = reverse("program:intents_follow", args=[block.pk])
    assert stranger.post(follow).status_code == 404


def test_the_board_and_the_page_take_few_queries_and_no_more_for_more_lanes(coach, block, plank):
    slot = written(block, plank, 1)
    grow(coach, slot)
    board = reverse("program:block", args=[block.pk])
    page = reverse("program:intent", args=[slot.part.session_id, slot.pk])
    few = queries_of(coach, board), queries_of(coach, page)
    for n in range(2, 6):
        other = written(block, ExerciseFactory(), n)
        grow(coach, other, start=6, top=12)
        ChildFactory(cohort=block.cohort)
    assert (queries_of(coach, board), queries_of(coach, page)) == few
    assert max(few) <= MOST_QUERIES


@pytest.mark.parametrize(
    "row",
    [
        {"kind": "other", "start": 5},
        {"kind": "stay", "start": 0},
        {"kind": "stay", "start": 601},
        {"kind": "grow", "start": 5, "step": 0, "top": 9},
        {"kind": "grow", "start": 5, "step": 1, "top": 5},
        {"kind": "grow", "start": 5, "step": 1, "top": 9, "every": 0},
        {"kind": "wave", "start": 5, "wave": [3]},
        {"kind": "wave", "start": 5, "wave": []},
    ],
)
def test_the_database_refuses_what_makes_no_sense(block, plank, row):
    with pytest.raises(IntegrityError), transaction.atomic():
        Progression.objects.create(
            block=block, session_name="x", exercise=plank, at=timezone.now(), **row
        )


def test_one_exercise_has_one_intent_in_sessions_of_one_name(block, plank):
    row = {"session_name": "x", "exercise": plank, "kind": "stay", "start": 5}
    Progression.objects.create(block=block, at=timezone.now(), **row)
    with pytest.raises(IntegrityError), transaction.atomic():
        Progression.objects.create(block=block, at=timezone.now(), **row)
    assert Block.objects.get(pk=block.pk).progressions.count() == 1


def test_a_warm_up_is_left_alone_unless_the_exercise_stands_nowhere_else(coach, block, plank):
    slot = written(block, plank, 1)
    warm_up = PartFactory(session=slot.part.session, position=1, kind="warm_up")
    before = SlotFactory(part=warm_up, exercise=plank, amount=5, tempo="")
    cool_down = written(block, plank, 2, kind="cool_down")
    follow = Progression.objects.create(
        block=block,
        session_name="Strong steps",
        exercise=plank,
        kind="grow",
        start=10,
        step=5,
        top=20,
        at=timezone.now(),
    )
    lane = lane_of(follow, block, sessions_of(block))
    assert [place.slot for week in lane.weeks for place in week.places] == [slot, cool_down]
    assert before not in [place.slot for _, place in lane.to_follow]
