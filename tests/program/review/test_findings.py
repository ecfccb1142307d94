"""What the queue finds, rule by rule. It is Wednesday evening throughout."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.models import Enrolment, GrowthMeasurement, Restriction
from library.models import Exercise
from program.family.praise import praise_of
from program.models import Refit, Resolution
from program.review.decisions import resolve
from program.review.finding import Finding
from program.review.queue import queue_of
from tests.support.consents import HEIGHTS, said
from tests.support.factories import ChildFactory, RevisionFactory, SessionFactory
from tests.support.family import EVENING, WEDNESDAY, assign, text
from tests.support.queue import did, hurt, labels, pathway_of_three, press, put, slot_with, waiting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening", "nothing_to_agree_to")]

DAY = dt.timedelta(days=1)
AS_ASKED, TWO_MORE = {"amount": 8}, {"amount": 10}
SHORT = {"amount": 5, "state": "some"}


@pytest.fixture
def squats():
    return pathway_of_three()


def told(finding: Finding) -> str:
    """The lane below a finding as a screen reader reads it."""
    return "; ".join(cell.words for cell in finding.lane.cells)


def test_nothing_happened_and_nothing_waits(cast):
    queue = queue_of(cast.coach, WEDNESDAY)
    assert queue.findings == []
    assert queue.headline == "Nothing waits for you"


def test_pain_comes_first_with_where_how_much_and_who_said_so(cast):
    session = did(cast.child, cast.guardian, 0)
    hurt(session, cast.guardian, note="On the way down")
    (pain,) = waiting(cast.coach)
    assert pain.headline == "Left knee, 4 of 10"
    assert pain.evidence == (
        "“On the way down” 4 of 10, told by Own Parent, Wednesday 4 November, 18:30, in Day 0. "
        "1st report about the knee in twelve weeks.",
        "Left knee: spared until you have answered.",
    )
    assert labels(pain) == [
        "No loading for two weeks",
        "No landings for two weeks",
        "Nothing at all there for two weeks",
        "Seen, no change",
        "It is not about this child",
    ]


def test_an_arm_is_not_spared_from_landings(cast):
    hurt(did(cast.child, cast.guardian, 0), cast.guardian, region="wrist_hand")
    assert labels(waiting(cast.coach)[0])[0] == "No loading for two weeks"


def test_reports_about_one_place_are_one_finding_and_the_worst_is_the_headline(cast):
    session = did(cast.child, cast.guardian, 2)
    for level, days_ago in ((6, 2), (3, 0)):
        hurt(session, cast.guardian, days_ago, level=level)
    hurt(session, cast.guardian, region="shoulder", side="right")
    left, right = sorted(waiting(cast.coach, "pain"), key=lambda each: each.headline)
    assert (left.headline, len(left.subjects)) == ("Left knee, 6 of 10", 2)
    assert told(left) == "6 of 10 Mon 2 Nov; 3 of 10 Wed 4 Nov"
    assert right.headline == "Right shoulder, 4 of 10"


def test_a_child_who_has_left_is_still_heard_when_something_hurt(cast):
    hurt(did(cast.child, cast.guardian, 3), cast.guardian)
    Enrolment.objects.filter(child=cast.child).update(end=WEDNESDAY - DAY)
    assert [each.kind for each in waiting(cast.head_coach)] == ["pain"]
    assert waiting(cast.head_coach, scope=str(cast.cohort.pk)) == []
    assert waiting(cast.coach) == []


def test_who_coaches_a_child_now_hears_what_hurt_before_it_came(cast):
    hurt(did(cast.child, cast.guardian, 3), cast.guardian)
    Enrolment.objects.filter(child=cast.child).update(end=WEDNESDAY - DAY)
    cast.child.enrolments.create(cohort=cast.other_cohort, start=WEDNESDAY)
    assert [each.kind for each in waiting(cast.other_coach)] == ["pain"]
    assert waiting(cast.coach) == []


def test_a_published_session_that_a_child_was_not_sent_waits_for_the_coach(cast):
    friday = assign(cast.other_child, WEDNESDAY + 2 * DAY, name="Ropes").session
    friday.block.cohort = cast.cohort
    friday.block.save()
    friday.published_at = EVENING
    friday.save()
    (held,) = waiting(cast.coach)
    assert held.headline == "Ropes on Friday 6 November was not sent"
    assert held.url == f"/sessions/{friday.pk}/fit/?different#child-{cast.child.public_id}"
    assert labels(held) == ["Choose", "No session that day"]


def test_a_session_that_went_out_does_not_wait(cast):
    session = assign(cast.child, WEDNESDAY + 2 * DAY).session
    session.published_at = EVENING
    session.save()
    assert waiting(cast.coach) == []


@pytest.mark.parametrize("change", ["not published", "over", "left before", "far ahead"])
def test_what_was_not_to_be_sent_does_not_wait(cast, change):
    session = SessionFactory(
        block__cohort=cast.cohort, date=WEDNESDAY + 2 * DAY, published_at=EVENING
    )
    if change == "not published":
        session.published_at = None
    elif change == "over":
        session.date = WEDNESDAY - DAY
    elif change == "far ahead":
        session.date = WEDNESDAY + 15 * DAY
    else:
        Enrolment.objects.filter(child=cast.child).update(end=WEDNESDAY)
    session.save()
    assert waiting(cast.coach, "decide") == []


def rated(cast, *efforts, every=2, last=1):
    """A session every other day, the last one yesterday, rated so."""
    for place, effort in enumerate(efforts):
        days_ago = last + every * (len(efforts) - 1 - place)
        did(cast.child, cast.guardian, days_ago, effort=effort)


def test_six_very_hard_days_in_a_row_are_found_and_stay_answered_for_two_weeks(cast, client_for):
    rated(cast, 8, 9, 8, 8, 9)
    assert waiting(cast.coach, "effort") == []
    did(cast.child, cast.guardian, 0, effort=10)
    (hard,) = waiting(cast.coach, "effort")
    assert hard.headline == "Effort 8 or more, six training days in a row"
    assert hard.evidence[0].startswith(
        "No training day since Mon 26 Oct was easier than very hard."
    )
    assert told(hard) == (
        "8 Mon 26 Oct; 9 Wed 28 Oct; 8 Fri 30 Oct; 8 Sun 1 Nov; 9 Tue 3 Nov; 10 Wed 4 Nov"
    )
    assert len(hard.logs) == 6
    press(client_for(cast.coach), hard, "seen")
    assert waiting(cast.coach, "effort") == []
    assert Resolution.objects.get().until == WEDNESDAY + 14 * DAY


def test_always_very_hard_is_hard_first_and_says_that_it_never_varies(cast):
    rated(cast, *[9] * 8)
    (hard,) = waiting(cast.coach)
    assert hard.headline == "Effort 8 or more, six training days in a row"
    assert "Rated 9 on each of the last 8 training days" in hard.evidence[1]


def test_a_slow_climb_is_found_though_no_day_was_far_above_the_one_before(cast):
    """3 4 3 4 are 3.5 and 6 6 7 5 are 6 on average."""
    rated(cast, 3, 4, 3, 4, 5, 5, 6, 6, 7, 5)
    (climb,) = waiting(cast.coach, "effort")
    assert climb.headline == "Effort has climbed from 3.5 to 6"
    assert "Fri 16 Oct" in climb.evidence[0]


def test_two_sessions_of_one_day_are_one_day_the_harder_one(cast):
    """Five very hard days and an easy session beside each; a sixth hard session on the fifth day is
    no sixth day."""
    rated(cast, 8, 9, 8, 8, 9)
    for days_ago in (9, 7, 5, 3):
        did(cast.child, cast.guardian, days_ago, effort=4)
    did(cast.child, cast.guardian, 1, effort=8)
    assert waiting(cast.coach, "effort") == []
    did(cast.child, cast.guardian, 11, effort=9)
    did(cast.child, cast.guardian, 11, effort=5)
    (hard,) = waiting(cast.coach, "effort")
    assert hard.lane.cells[0].head == "9"


def test_an_effort_counts_on_the_day_it_was_done(cast):
    """The session of three days ago was done yesterday, after that of two days ago."""
    for days_ago in (30, 25, 20, 15, 10):
        did(cast.child, cast.guardian, days_ago, effort=5)
    did(cast.child, cast.guardian, 3, effort=9, done_on=WEDNESDAY - DAY)
    did(cast.child, cast.guardian, 2, effort=5)
    (hard,) = waiting(cast.coach, "effort")
    assert told(hard).endswith("5 Mon 2 Nov; 9 Tue 3 Nov")
    assert hard.on == WEDNESDAY - DAY


def test_ratings_that_never_vary_are_called_that_and_the_family_may_want_them_explained(
    cast, client_for
):
    rated(cast, *[1] * 7)
    assert waiting(cast.coach, "ratings") == []
    did(cast.child, cast.guardian, 0, effort=1)
    (same,) = waiting(cast.coach)
    assert same.headline == "Always effort 1 of 10 (just moving about)"
    says = "Rated 1 on each of the last 8 training days: that says nothing about readiness."
    assert same.evidence[0] == says
    assert labels(same) == [
        "Explained to the family",
        "Seen, look again in six weeks",
        "Look at the logs",
    ]
    page = reverse("program:child_review", args=[cast.child.public_id])
    assert says in text(client_for(cast.coach).get(page))
    press(client_for(cast.coach), same, "seen:explained")
    assert Resolution.objects.get().until == WEDNESDAY + 42 * DAY
    assert waiting(cast.coach) == []
    did(cast.child, cast.guardian, 0, effort=2)
    assert says not in text(client_for(cast.coach).get(page))


def test_an_effort_far_above_the_childs_usual_is_found_with_what_came_before(cast):
    for days_ago, effort in ((30, 5), (25, 5), (20, 4), (15, 5), (10, 6)):
        did(cast.child, cast.guardian, days_ago, effort=effort)
    did(cast.child, cast.guardian, 1, effort=8, note="Two heats that day")
    (hard,) = waiting(cast.coach)
    assert hard.headline == "Effort 8 of 10 (very hard), usually 5"
    assert "“Two heats that day”" in hard.evidence
    assert told(hard).endswith("6 Sun 25 Oct; 8 Tue 3 Nov")


@pytest.mark.parametrize(("days_ago", "count"), [(14, 1), (15, 0)])
def test_a_hard_session_wants_an_answer_for_two_weeks(cast, days_ago, count):
    for earlier in (38, 35, 30, 25, 20):
        did(cast.child, cast.guardian, earlier, effort=5)
    did(cast.child, cast.guardian, days_ago, effort=9)
    assert len(waiting(cast.coach, "effort")) == count


def test_a_point_or_two_more_is_no_finding(cast):
    for days_ago in (30, 25, 20, 15, 10):
        did(cast.child, cast.guardian, days_ago, effort=5)
    did(cast.child, cast.guardian, 1, effort=7)
    assert waiting(cast.coach) == []


def test_two_sessions_nobody_spoke_of_are_found_with_the_last_one_done(cast):
    did(cast.child, cast.guardian, 9)
    for days_ago in (6, 4):
        assign(cast.child, WEDNESDAY - days_ago * DAY)
    (quiet,) = waiting(cast.coach)
    assert quiet.headline == "Nothing logged for nine days"
    assert quiet.evidence == (
        "Two sessions in a row nobody has spoken of. The last one done was Day 9, Mon 26 Oct.",
    )
    assert told(quiet).count("not done") == 2


def test_a_side_difference_is_found_from_eight_readings_and_not_from_seven(cast):
    step = pathway_of_three().squat
    for days_ago in range(35, 5, -4)[:7]:
        did(cast.child, cast.guardian, days_ago, [(step, {"amount_left": 6, "amount_right": 8})])
    assert waiting(cast.coach) == []
    did(cast.child, cast.guardian, 5, [(step, {"amount_left": 6, "amount_right": 8})])
    (sides,) = waiting(cast.coach)
    assert sides.headline == "Squat: left about 25 % less"
    assert sides.evidence == (
        "In 8 sessions the left did 48 in all and the right 64: 25 % less, give or take 17. "
        "A reason to watch, not a diagnosis.",
    )
    assert told(sides).count("6\N{NO-BREAK SPACE}·\N{NO-BREAK SPACE}8") == 5


@pytest.mark.parametrize(("last", "is_found"), [(5, True), (43, False)])
def test_sides_are_compared_over_a_season_as_long_as_the_exercise_is_still_done(
    cast, last, is_found
):
    """Eight readings, one in nine days, the first 68 or 106 days ago; the queue shows the logs of
    the last six weeks."""
    step = pathway_of_three().squat
    for back in range(7, -1, -1):
        days_ago = last + 9 * back
        did(cast.child, cast.guardian, days_ago, [(step, {"amount_left": 6, "amount_right": 8})])
    found = waiting(cast.coach, "sides")
    assert bool(found) == is_found
    for each in found:
        assert len(each.logs) == 5


def usually_six(cast) -> None:
    for days_ago in (21, 19, 17, 15, 13):
        did(cast.child, cast.guardian, days_ago, effort=6)


def test_twice_at_ease_is_ready_and_names_exactly_the_logs_it_rests_on(cast, squats):
    usually_six(cast)
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    did(cast.child, cast.guardian, 9, [(squats.squat, AS_ASKED)], effort=6)
    did(cast.child, cast.guardian, 6, [(squats.squat, AS_ASKED)], effort=4)
    did(cast.child, cast.guardian, 3, [(squats.squat, AS_ASKED)], effort=4)
    (ready,) = waiting(cast.coach)
    assert (ready.kind, ready.headline) == ("move_on", "Ready for more than Squat")
    assert ready.evidence == (
        "All 8, much easier than this child’s sessions usually are, twice in a row.",
        "The step’s own test: Eight calm ones, twice.",
    )
    assert told(ready) == ("8 Thu 29 Oct, effort 4; 8 Sun 1 Nov, effort 4; at ease twice over")
    assert labels(ready) == ["Move on to Deep squat", "Not yet"]


def test_managed_eight_times_running_and_not_hard_is_ready(cast, squats):
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    for days_ago in range(24, 0, -3):
        did(
            cast.child, cast.guardian, days_ago, [(squats.squat, AS_ASKED)], effort=4 + days_ago % 2
        )
    (ready,) = waiting(cast.coach)
    assert ready.evidence[0] == (
        "All 8 in each of the last eight sessions, half of them or more rated 4 or less."
    )
    assert len(ready.logs) == 8
    assert told(ready).endswith("8 Sun 1 Nov, effort 5; managed eight times")


def test_where_nobody_has_seen_a_child_yet_a_coach_may_say_that_it_stands_right(cast, squats):
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    cast.child.placements.update(is_seen=False)
    for days_ago in (6, 3):
        did(cast.child, cast.guardian, days_ago, [(squats.squat, TWO_MORE)], effort=3)
    (ready,) = waiting(cast.coach)
    assert ready.evidence[-1] == "It began there with its group; no coach has seen it yet."
    assert labels(ready) == ["Seen: on to Deep squat", "Seen: Squat is right", "Not yet"]
    resolve(ready, ready.actions[1], cast.coach, EVENING, WEDNESDAY)
    stands = cast.child.placements.current().get()
    assert (stands.exercise, stands.is_seen, stands.placed_by) == (squats.squat, True, cast.coach)
    # It has not moved on, so nobody is praised for that.
    assert praise_of(cast.guardian, cast.child, EVENING) == []


@pytest.mark.parametrize("trouble", ["too young", "retired"])
def test_an_exercise_that_is_out_of_use_or_not_for_this_age_is_not_offered(cast, squats, trouble):
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    for days_ago in (6, 3):
        did(cast.child, cast.guardian, days_ago, [(squats.squat, TWO_MORE)], effort=3)
    if trouble == "retired":
        Exercise.objects.filter(pk=squats.deep.pk).update(status="retired")
    else:
        squats.deep.current = RevisionFactory(exercise=squats.deep, number=2, minimum_age=12)
        squats.deep.save()
    assert waiting(cast.coach, "move_on") == []


def test_not_managed_twice_offers_what_is_easier(cast, squats):
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    for days_ago in (6, 3):
        did(cast.child, cast.guardian, days_ago, [(squats.squat, SHORT)], effort=6)
    (back,) = waiting(cast.coach)
    assert (back.kind, back.headline) == ("step_back", "Squat is too hard just now")
    assert labels(back) == ["Step back to Sit to stand", "Stay here"]


def test_what_was_done_before_a_placement_says_nothing_about_it(cast, squats):
    put(cast.child, squats.pathway, squats.squat, cast.coach, days_ago=4)
    for days_ago in (6, 3):
        did(cast.child, cast.guardian, days_ago, [(squats.squat, SHORT)], effort=6)
    assert waiting(cast.coach) == []


def test_an_exercise_nobody_spoke_of_went_like_the_whole_session(cast, squats):
    usually_six(cast)
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    for days_ago in (6, 3):
        session = did(cast.child, cast.guardian, days_ago, effort=3)
        slot_with(session, squats.squat)
    assert [each.kind for each in waiting(cast.coach)] == ["move_on"]


@pytest.mark.parametrize("patience", ["grows fast", "restricted", "hurt"])
def test_nobody_is_moved_on_who_grows_fast_is_spared_or_was_hurt(cast, squats, patience):
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    for days_ago in (6, 3):
        session = did(cast.child, cast.guardian, days_ago, [(squats.squat, TWO_MORE)], effort=3)
    if patience == "grows fast":
        cast.child.growing_fast_until = WEDNESDAY
        cast.child.save()
    elif patience == "restricted":
        restriction(cast.child, until=WEDNESDAY + 9 * DAY)
    else:
        hurt(session, cast.guardian)
    assert waiting(cast.coach, "move_on") == []


def restriction(child, until, start=WEDNESDAY - 9 * DAY, **details) -> Restriction:
    about = {"region": "knee", "side": "left", "kind": "no_landing"} | details
    return child.restrictions.create(start=start, until=until, **about)


def test_a_restriction_that_is_over_asks_until_somebody_answers(cast):
    rule = restriction(cast.child, until=WEDNESDAY - 2 * DAY, note="Sore after landings")
    (over,) = waiting(cast.coach)
    assert over.headline == "Left knee: no landing is over. Is it fine again?"
    assert over.evidence[0] == "“Sore after landings”"
    assert labels(over) == ["Begin the way back", "Two more weeks", "Fine again"]
    rule.lifted_on = WEDNESDAY
    rule.save()
    assert waiting(cast.coach) == []


@pytest.mark.parametrize(("days", "said"), [(0, "ends today"), (2, "ends on Friday"), (3, None)])
def test_a_restriction_about_to_end_is_said_two_days_before(cast, days, said):
    restriction(cast.child, until=WEDNESDAY + days * DAY)
    assert [each.headline for each in waiting(cast.coach)] == (
        [f"Left knee: no landing {said}"] if said else []
    )


def refit(child, what="kit", **counts) -> Refit:
    return child.refits.create(
        what=what, at=EVENING, **({"changed": 0, "waiting": 0, "withdrawn": 0} | counts)
    )


def test_what_changed_about_a_child_is_told_once_however_often_it_changed(cast):
    refit(cast.child, "kit", changed=2)
    refit(cast.child, "kit", waiting=1)
    refit(cast.child, "growth", withdrawn=1)
    (changed,) = waiting(cast.coach)
    assert changed.headline in {
        "What is at home has changed, and Growing fast has changed",
        "Growing fast has changed, and What is at home has changed",
    }
    assert changed.evidence == (
        "Sessions not yet started: 2 different now, 1 waiting for you, 1 taken back. Wed 4 Nov.",
    )


def test_a_no_to_training_closes_sessions_and_none_of_them_waits_for_the_coach(cast):
    refit(cast.child, "consent", waiting=3)
    (changed,) = waiting(cast.coach)
    assert changed.headline == "The family has answered anew on training"
    assert changed.evidence == ("Sessions not yet started: 3 closed. Wed 4 Nov.",)


def test_a_placement_the_coach_made_is_told_only_where_it_holds_something_up(cast):
    refit(cast.child, "placement", changed=3)
    assert waiting(cast.coach) == []
    refit(cast.child, "placement", waiting=1)
    assert [each.headline for each in waiting(cast.coach)] == ["A placement has changed"]


def test_the_most_urgent_stands_first(cast, squats):
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    for days_ago in (6, 3):
        did(cast.child, cast.guardian, days_ago, [(squats.squat, TWO_MORE)], effort=3)
    second = ChildFactory(given_name="Nils", cohort=cast.cohort)
    hurt(did(second, cast.guardian, 0), cast.guardian, level=2)
    hurt(did(second, cast.guardian, 0), cast.guardian, level=7, region="foot")
    restriction(second, until=WEDNESDAY - DAY, region="elbow")
    refit(cast.child, changed=1)
    found = waiting(cast.coach)
    assert [each.kind for each in found] == ["pain", "pain", "restriction", "changed", "move_on"]
    assert found[0].headline == "Left foot, 7 of 10"


def test_a_coach_is_asked_about_own_children_only(cast):
    for child in (cast.child, cast.other_child):
        hurt(did(child, cast.head_coach, 0), cast.head_coach)
        refit(child, changed=1)
    assert {each.who.child for each in waiting(cast.coach)} == {cast.child}
    assert len(waiting(cast.head_coach)) == 4
    assert len(waiting(cast.head_coach, scope=str(cast.other_cohort.pk))) == 2


def test_the_queue_says_how_long_it_is(cast):
    for region in ("knee", "foot", "ankle"):
        hurt(did(cast.child, cast.guardian, 0), cast.guardian, region=region)
    assert queue_of(cast.coach, WEDNESDAY).headline == "Three things, about four minutes"


def fill(child, by, squats) -> None:
    put(child, squats.pathway, squats.squat, by)
    for days_ago in (35, 30, 25, 20, 15, 10, 6, 3):
        told = {"amount_left": 6, "amount_right": 8}
        session = did(child, by, days_ago, [(squats.squat, told)], effort=4)
        hurt(session, by, days_ago)
    assign(child, WEDNESDAY - 3 * DAY)
    restriction(child, until=WEDNESDAY - DAY, region="elbow")
    refit(child, changed=1)


def test_the_queue_costs_the_same_queries_at_two_sizes(cast, squats):
    counts = []
    for children in (1, 6):
        for n in range(children):
            child = ChildFactory(given_name=f"Kid{children}{n}", cohort=cast.cohort)
            fill(child, cast.coach, squats)
        queue_of(cast.coach, WEDNESDAY)  # reads this edition of the library
        with CaptureQueriesContext(connection) as captured:
            assert len(queue_of(cast.coach, WEDNESDAY).findings) >= 4 * children
        counts.append(len(captured))
    assert counts[0] == counts[1] <= 14


@pytest.fixture
def agreed(cast):
    return said(cast.child, cast.guardian, HEIGHTS)


def measure(child, days_ago, height) -> None:
    GrowthMeasurement.objects.create(child=child, on=WEDNESDAY - days_ago * DAY, height=height)


def test_a_spurt_is_found_with_the_heights_it_rests_on(cast, agreed):
    measure(cast.child, 182, 140)
    measure(cast.child, 0, 145)
    (spurt,) = waiting(cast.coach)
    assert spurt.headline == "Growing 10.0 cm a year, give or take 2.8"
    assert told(spurt) == "140.0 cm 6 May 2026; 145.0 cm 4 Nov 2026"
    assert "One reading is taken to be off by 0.5 cm" in spurt.evidence[-1]
    assert labels(spurt)[0] == "Go gently for twelve weeks"


@pytest.mark.parametrize("why", ["slow", "gentle already", "long ago", "not agreed"])
def test_there_is_no_word_of_a_spurt(cast, agreed, why):
    long_ago = 181 if why == "long ago" else 0
    measure(cast.child, 182 + long_ago, 140)
    measure(cast.child, long_ago, 143 if why == "slow" else 145)
    if why == "gentle already":
        cast.child.growing_fast_until = WEDNESDAY
        cast.child.save()
    elif why == "not agreed":
        said(cast.child, cast.guardian, HEIGHTS, given=False)
    assert waiting(cast.coach, "growth") == []


@pytest.mark.parametrize(
    ("days_ago", "said"),
    [
        (None, "Agreed to, and not measured yet."),
        (100, "Last measured on 27 July 2026."),
        (99, None),
    ],
)
def test_a_height_is_due_after_about_three_months(cast, agreed, days_ago, said):
    if days_ago:
        measure(cast.child, days_ago, 140)
    assert [each.evidence for each in waiting(cast.coach)] == ([(said,)] if said else [])


def test_nothing_is_due_where_nobody_agreed(cast):
    measure(cast.child, 200, 140)
    assert waiting(cast.coach) == []


def test_two_sessions_of_one_day_are_no_two_in_a_row(cast, squats):
    """Hall and home on one day, both with two to spare, are one day; the next one makes two."""
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    for _ in range(2):
        did(cast.child, cast.guardian, 3, [(squats.squat, TWO_MORE)], effort=3)
    assert waiting(cast.coach, "move_on") == []
    did(cast.child, cast.guardian, 1, [(squats.squat, TWO_MORE)], effort=2)
    assert len(waiting(cast.coach, "move_on")) == 1


def test_a_good_session_hides_no_bad_one_of_the_same_day(cast, squats):
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    for days_ago in (3, 1):
        did(cast.child, cast.guardian, days_ago, [(squats.squat, SHORT)], effort=6)
        did(cast.child, cast.guardian, days_ago, [(squats.squat, TWO_MORE)], effort=3)
    assert waiting(cast.coach, "move_on") == []
    (back,) = waiting(cast.coach, "step_back")
    assert told(back).startswith("5 Sun 1 Nov, effort 6; 5 Tue 3 Nov, effort 6")
