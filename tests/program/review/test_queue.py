"""Answering the queue: what each button does, who may press it, and the way back."""

import datetime as dt

import html5lib
import pytest
from django.urls import reverse

from athletes.models import (
    Child,
    GrowthMeasurement,
    Placement,
    Restriction,
)
from program.models import PainReport, Refit, Resolution
from program.review.decisions import resolve
from program.review.queue import queue_of
from tests.support.consents import HEIGHTS, said
from tests.support.factories import ChildFactory, UserFactory
from tests.support.family import EVENING, WEDNESDAY, assign, text
from tests.support.queue import WHY, did, hurt, pathway_of_three, press, put, waiting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening", "nothing_to_agree_to")]

DAY = dt.timedelta(days=1)
REVIEW = "/review/"
NOBODY = "00000000-0000-4000-8000-000000000000"


@pytest.fixture
def sore(cast):
    hurt(did(cast.child, cast.guardian, 0), cast.guardian)
    return waiting(cast.coach)[0]


@pytest.fixture
def squats():
    return pathway_of_three()


@pytest.fixture
def ready(cast, squats):
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    for days_ago in (6, 3):
        did(cast.child, cast.guardian, days_ago, [(squats.squat, {"amount": 10})], effort=3)
    return waiting(cast.coach)[0]


def take_back(client, resolution, **also):
    return client.post(reverse("program:answer_back", args=[resolution.pk]), also)


def answers() -> list[tuple[str, str]]:
    return list(Resolution.objects.order_by("pk").values_list("action", "sentence"))


def test_seen_takes_a_report_off_the_queue_and_keeps_who_when_and_what(cast, coach, sore):
    answer = press(coach, sore, "seen")
    report, kept = PainReport.objects.get(), Resolution.objects.get()
    assert answer.headers["location"] == f"{REVIEW}?just={kept.pk}"
    assert (report.answered_by, report.answered_at) == (cast.coach, EVENING)
    assert (kept.by, kept.at, kept.sentence) == (
        cast.coach,
        EVENING,
        "Left knee, 4 of 10: seen, no change. “Looked at it on Monday”",
    )
    read = text(coach.get(REVIEW))
    assert "Nothing waits for you" in read
    assert (
        "Mira T. Left knee, 4 of 10: seen, no change. “Looked at it on Monday” "
        "Owning Coach, 4 November, 18:30" in read
    )


def test_no_landings_sets_a_restriction_for_two_weeks(cast, coach, sore):
    press(coach, sore, "no_landing")
    rule = Restriction.objects.get()
    assert (rule.region, rule.side, rule.kind) == ("knee", "left", "no_landing")
    assert (rule.start, rule.until) == (WEDNESDAY, WEDNESDAY + 14 * DAY)
    assert (rule.set_by, rule.note) == (cast.coach, "Left knee, 4 of 10")
    assert PainReport.objects.get().answered_by == cast.coach


def test_no_loading_sets_that_one(coach, sore):
    press(coach, sore, "no_loading")
    assert Restriction.objects.get().kind == "no_loading"


def test_accepting_a_suggestion_places_the_child_and_says_why(cast, coach, squats, ready):
    press(coach, ready, "place:deep-squat")
    now = Placement.objects.current().get(child=cast.child)
    assert (now.exercise, now.placed_by) == (squats.deep, cast.coach)
    assert now.why == "Two more than the 8 asked, two sessions in a row."
    assert waiting(cast.coach) == []


def test_a_suggestion_that_is_not_there_cannot_be_accepted(cast, coach, squats, ready):
    for code in ("place:sit-to-stand", "place:nothing", "lift", "look", ""):
        press(coach, ready, code)
    assert Placement.objects.current().get(child=cast.child).exercise == squats.squat
    assert answers() == []
    assert "Choose one of the buttons." in text(coach.get(REVIEW))


def test_not_yet_asks_again_in_two_weeks(cast, coach, ready, monkeypatch):
    press(coach, ready, "seen")
    assert waiting(cast.coach) == []
    kept = Resolution.objects.get()
    assert kept.until == WEDNESDAY + 14 * DAY
    kept.until = WEDNESDAY
    kept.save()
    assert [each.key for each in waiting(cast.coach)] == [ready.key]


def test_what_is_put_off_comes_back_on_its_day_and_not_before(cast, coach, ready):
    press(coach, ready, "later", until="2026-11-10")
    assert answers() == [("later", "Ready for more than Squat: put off until 10 November 2026.")]
    assert waiting(cast.coach) == []
    Resolution.objects.update(until=WEDNESDAY)
    assert len(waiting(cast.coach)) == 1


@pytest.mark.parametrize("day", ["2026-11-04", "2026-11-01", "2028-01-01", "", "soon"])
def test_a_day_that_is_not_ahead_is_refused_in_plain_words(cast, coach, ready, day):
    press(coach, ready, "later", until=day)
    assert "Choose a day from tomorrow on, within a year." in text(coach.get(REVIEW))
    assert len(waiting(cast.coach)) == 1


def test_putting_pain_off_is_not_seeing_it(coach, sore):
    press(coach, sore, "later", until="2026-11-05")
    assert PainReport.objects.get().answered_at is None


def test_answering_twice_does_no_more_than_once(cast, coach, sore):
    for _ in range(2):
        press(coach, sore, "no_landing")
    assert Restriction.objects.count() == Resolution.objects.count() == 1
    assert "Somebody has answered this already" in text(coach.get(REVIEW))


def test_a_restriction_that_is_over_is_fine_again_or_set_anew(cast, coach):
    for region in ("knee", "foot"):
        cast.child.restrictions.create(
            region=region, side="left", kind="no_landing", start=MONTH_AGO, until=WEDNESDAY - DAY
        )
    foot, knee = sorted(waiting(cast.coach), key=lambda each: each.headline)
    press(coach, knee, "lift")
    press(coach, foot, "extend")
    assert waiting(cast.coach) == []
    rules = Restriction.objects.order_by("region", "start").values_list(
        "region", "until", "lifted_on"
    )
    assert list(rules) == [
        ("foot", WEDNESDAY - DAY, WEDNESDAY),
        ("foot", WEDNESDAY + 14 * DAY, None),
        ("knee", WEDNESDAY - DAY, WEDNESDAY),
    ]


MONTH_AGO = WEDNESDAY - 30 * DAY


def test_a_restriction_about_to_end_is_stretched_or_left_to_end(cast, coach):
    for region in ("knee", "foot"):
        cast.child.restrictions.create(
            region=region, side="left", kind="no_landing", start=MONTH_AGO, until=WEDNESDAY + DAY
        )
    foot, knee = sorted(waiting(cast.coach), key=lambda each: each.headline)
    press(coach, knee, "extend")
    press(coach, foot, "seen")
    assert waiting(cast.coach) == []
    ends = dict(Restriction.objects.values_list("region", "until"))
    assert ends == {"knee": WEDNESDAY + 14 * DAY, "foot": WEDNESDAY + DAY}


def test_what_changed_is_seen_all_at_once(cast, coach):
    for what in ("kit", "growth"):
        cast.child.refits.create(what=what, at=EVENING, changed=1, waiting=0, withdrawn=0)
    press(coach, waiting(cast.coach)[0], "seen")
    assert Refit.objects.unseen().count() == 0
    assert waiting(cast.coach) == []


def test_the_coach_is_told_what_an_answer_did_and_not_asked_about_it(
    cast, coach, sore, monkeypatch
):
    """What is fitted anew after the commit is written by the worker; here it has been already."""

    def refitted(finding, action, by, now, today, because):
        cast.child.refits.create(what="restriction", at=now, changed=2, waiting=0, withdrawn=1)
        return resolve(finding, action, by, now, today, because)

    monkeypatch.setattr("program.review.views.queue.resolve", refitted)
    monkeypatch.setattr("program.review.decisions.wait_for", lambda *locks: True)
    read = text(press(coach, sore, "no_landing", htmx=True))
    assert "Sessions not yet started: 2 different now, 1 taken back." in read
    assert Refit.objects.get().seen_by == cast.coach
    assert waiting(cast.coach) == []


def test_two_coaches_who_answer_at_once_answer_once(cast, sore):
    """Both have read the queue before either has answered."""
    first = resolve(sore, sore.action("no_landing"), cast.coach, EVENING, WEDNESDAY)
    second = resolve(sore, sore.action("seen"), cast.head_coach, EVENING, WEDNESDAY, WHY)
    assert second == first
    assert PainReport.objects.get().answered_by == cast.coach


def test_sparing_what_is_spared_longer_already_changes_nothing_and_takes_nothing_back(
    cast, coach, sore
):
    until = WEDNESDAY + 30 * DAY
    cast.child.restrictions.create(
        region="knee", side="left", kind="no_landing", start=WEDNESDAY, until=until
    )
    press(coach, sore, "no_landing")
    Restriction.objects.update(until=until + DAY)
    take_back(coach, Resolution.objects.get())
    assert Restriction.objects.get().until == until + DAY
    assert Resolution.objects.get().undone_at == EVENING


# The way back.


def test_seen_is_taken_back(cast, coach, sore):
    press(coach, sore, "seen")
    take_back(coach, Resolution.objects.get())
    report, kept = PainReport.objects.get(), Resolution.objects.get()
    assert (report.answered_by, report.answered_at) == (None, None)
    assert (kept.undone_by, kept.undone_at) == (cast.coach, EVENING)
    assert [each.key for each in waiting(cast.coach)] == [sore.key]
    assert "taken back by Owning Coach, 4 November, 18:30" in text(coach.get(REVIEW))


def test_a_placement_is_taken_back_with_what_it_rested_on(cast, coach, squats, ready):
    press(coach, ready, "place:deep-squat")
    take_back(coach, Resolution.objects.get())
    (placement,) = Placement.objects.filter(child=cast.child)
    assert (placement.exercise, placement.ended_at) == (squats.squat, None)
    assert [each.key for each in waiting(cast.coach)] == [ready.key]


def test_a_placement_that_was_changed_since_stays(cast, coach, squats, ready):
    press(coach, ready, "place:deep-squat")
    put(cast.child, squats.pathway, squats.sit, cast.head_coach, days_ago=0)
    take_back(coach, Resolution.objects.get())
    assert Placement.objects.current().get().exercise == squats.sit
    assert Resolution.objects.get().undone_at is None
    assert "Something else was decided about this since" in text(coach.get(REVIEW))


def test_a_restriction_is_taken_back_to_what_it_was(cast, coach, sore):
    press(coach, sore, "no_landing")
    take_back(coach, Resolution.objects.get())
    assert Restriction.objects.count() == 0
    cast.child.restrictions.create(
        region="knee", side="left", kind="no_landing", start=MONTH_AGO, until=WEDNESDAY + DAY
    )
    (sore, _) = waiting(cast.coach)
    press(coach, sore, "no_landing")
    assert Restriction.objects.get().until == WEDNESDAY + 14 * DAY
    take_back(coach, Resolution.objects.first())
    assert Restriction.objects.get().until == WEDNESDAY + DAY


@pytest.mark.parametrize("action", ["lift", "extend"])
def test_what_was_said_of_a_restriction_that_is_over_is_taken_back(cast, coach, action):
    old = cast.child.restrictions.create(
        region="knee", side="left", kind="no_landing", start=MONTH_AGO, until=WEDNESDAY - DAY
    )
    (over,) = waiting(cast.coach)
    press(coach, over, action)
    take_back(coach, Resolution.objects.get())
    (rule,) = Restriction.objects.all()
    assert (rule.pk, rule.until, rule.lifted_on) == (old.pk, WEDNESDAY - DAY, None)
    assert [each.key for each in waiting(cast.coach)] == [over.key]


def test_a_restriction_somebody_stretched_since_stays(cast, coach, sore):
    press(coach, sore, "no_landing")
    Restriction.objects.update(until=WEDNESDAY + 20 * DAY)
    take_back(coach, Resolution.objects.get())
    assert Restriction.objects.get().until == WEDNESDAY + 20 * DAY
    assert PainReport.objects.get().answered_at is not None


def test_taking_back_twice_does_no_more_than_once(cast, coach, client_for, sore):
    press(coach, sore, "seen")
    for client in (coach, client_for(cast.head_coach)):
        take_back(client, Resolution.objects.get())
    assert Resolution.objects.get().undone_by == cast.coach


def test_what_was_taken_back_may_be_answered_again(cast, coach, sore):
    for action in ("no_landing", "seen"):
        press(coach, waiting(cast.coach)[0], action)
        take_back(coach, Resolution.objects.first())
    press(coach, waiting(cast.coach)[0], "seen")
    assert Resolution.objects.count() == 3
    assert waiting(cast.coach) == []


# Who may.


def test_a_stranger_answers_nothing_and_takes_nothing_back(cast, coach, client_for, sore):
    for person in (cast.other_coach, cast.guardian, cast.athlete, cast.nobody):
        assert press(client_for(person), sore, "seen").status_code == 404
    press(coach, sore, "seen")
    for person in (cast.other_coach, cast.guardian, cast.athlete, cast.nobody):
        assert take_back(client_for(person), Resolution.objects.get()).status_code == 404
    assert Resolution.objects.get().undone_at is None


@pytest.mark.parametrize("child", ["", "x", NOBODY])
def test_an_answer_about_nobody_is_a_404(coach, sore, child):
    assert press(coach, sore, "seen", child=child).status_code == 404


def test_one_childs_key_does_not_open_anothers_finding(cast, coach, sore):
    other = ChildFactory(given_name="Nils", cohort=cast.cohort)
    press(coach, sore, "seen", child=other.public_id)
    assert PainReport.objects.get().answered_at is None


def test_answers_are_posted(coach, sore):
    assert coach.get(reverse("program:answer")).status_code == 405


def test_a_child_that_is_deleted_takes_its_answers_along(cast, coach, sore):
    press(coach, sore, "seen")
    PainReport.objects.all().delete()
    cast.child.assigned.all().delete()
    Child.objects.filter(pk=cast.child.pk).delete()
    assert Resolution.objects.count() == 0


# The page.


def test_htmx_gets_the_queue_anew_with_what_was_said_and_the_way_back(cast, coach, sore):
    answer = press(coach, sore, "no_landing", htmx=True)
    read = text(answer)
    assert "Mira T.: Left knee, 4 of 10: no landings for two weeks." in read
    assert "Take back z" in read
    html = answer.content.decode()
    assert "<html" not in html
    assert reverse("program:answer_back", args=[Resolution.objects.get().pk]) in html


def test_the_head_coach_looks_at_one_cohort_and_stays_there(cast, client_for):
    for child in (cast.child, cast.other_child):
        hurt(did(child, cast.head_coach, 0), cast.head_coach)
    head = client_for(cast.head_coach)
    read = text(head.get(REVIEW, {"cohort": cast.other_cohort.pk}))
    assert "Ivo T." in read
    assert "Mira" not in read
    (theirs,) = waiting(cast.head_coach, scope=str(cast.other_cohort.pk))
    answer = press(head, theirs, "seen", scope=cast.other_cohort.pk)
    just = Resolution.objects.get().pk
    assert answer.headers["location"] == f"{REVIEW}?cohort={cast.other_cohort.pk}&just={just}"


def test_a_strangers_cohort_and_no_cohort_are_the_same_404(cast, coach):
    for cohort in (cast.other_cohort.pk, 999999, "x"):
        assert coach.get(REVIEW, {"cohort": cohort}).status_code == 404


def test_on_the_childs_own_page_what_hurts_is_answered_too(cast, coach, sore):
    page = reverse("program:child_review", args=[cast.child.public_id])
    assert "Left knee, 4 of 10" in text(coach.get(page))
    answer = press(coach, sore, "seen", scope="child")
    assert answer.headers["location"] == page
    assert "answered by Owning Coach" in text(coach.get(page))


def test_the_week_so_far_stands_over_the_queue(cast, coach):
    did(cast.child, cast.guardian, 2)
    did(cast.child, cast.guardian, 1, state="some")
    did(cast.child, cast.guardian, 3)  # Sunday
    assign(cast.child, WEDNESDAY - DAY)
    assign(cast.child, WEDNESDAY)
    assert "since Monday: 1 done, 1 partly, 1 not logged" in text(coach.get(REVIEW))


def test_the_queue_is_valid_html_with_one_heading(cast, coach, sore, squats):
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    for days_ago in (6, 3):
        did(cast.child, cast.guardian, days_ago, [(squats.squat, {"amount": 10})], effort=3)
    press(coach, sore, "seen")
    hurt(did(cast.child, cast.guardian, 0), cast.guardian, region="foot")
    body = coach.get(REVIEW).content
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(body)
    ids = [element.get("id") for element in tree.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    assert len(list(tree.iter("h1"))) == len(list(tree.iter("main"))) == 1


def test_the_page_costs_eighteen_queries_however_many_children(
    cast, coach, squats, django_assert_num_queries
):
    for n in range(5):
        child = ChildFactory(given_name=f"Kid{n}", cohort=cast.cohort)
        hurt(did(child, cast.coach, 0), cast.coach)
    coach.get(REVIEW)
    with django_assert_num_queries(18):  # one of them says who looked
        assert coach.get(REVIEW).status_code == 200


@pytest.fixture
def spurt(cast):
    said(cast.child, cast.guardian, HEIGHTS)
    for days_ago, height in ((182, 140), (0, 145)):
        GrowthMeasurement.objects.create(
            child=cast.child, on=WEDNESDAY - days_ago * DAY, height=height
        )
    return waiting(cast.coach)[0]


def test_going_gently_is_set_for_twelve_weeks_and_taken_back(cast, coach, spurt):
    press(coach, spurt, "gently")
    cast.child.refresh_from_db()
    assert cast.child.growing_fast_until == WEDNESDAY + 84 * DAY
    assert waiting(cast.coach) == []
    take_back(coach, Resolution.objects.get())
    cast.child.refresh_from_db()
    assert cast.child.growing_fast_until is None
    assert [each.key for each in waiting(cast.coach)] == [spurt.key]


def test_going_gently_that_was_changed_since_stays(cast, coach, spurt):
    press(coach, spurt, "gently")
    Child.objects.update(growing_fast_until=WEDNESDAY + 10 * DAY)
    take_back(coach, Resolution.objects.get())
    cast.child.refresh_from_db()
    assert cast.child.growing_fast_until == WEDNESDAY + 10 * DAY
    assert Resolution.objects.get().undone_at is None


# Handing on.


@pytest.fixture
def second(cast):
    """Another coach of the same cohort."""
    coach = UserFactory(name="Second Coach", role="coach")
    cast.cohort.coaches.add(coach)
    return coach


@pytest.fixture
def two(cast, sore, squats):
    """Pain, and a child who is ready; the least urgent last."""
    put(cast.child, squats.pathway, squats.squat, cast.coach)
    for days_ago in (26, 23):
        did(cast.child, cast.guardian, days_ago, [(squats.squat, {"amount": 10})], effort=3)
    cast.child.restrictions.create(
        region="elbow", side="left", kind="no_landing", start=MONTH_AGO, until=WEDNESDAY - DAY
    )
    return waiting(cast.coach)


def kinds(queue) -> list[str]:
    return [str(each.kind) for each in queue]


def test_a_finding_handed_on_is_first_with_that_coach_and_last_with_the_others(
    cast, coach, two, second
):
    assert kinds(two) == ["pain", "restriction"]
    press(coach, two[1], "hand", to=second.pk)
    theirs, mine = (queue_of(each, WEDNESDAY) for each in (second, cast.coach))
    assert kinds(theirs.findings) == ["restriction", "pain"]
    assert (kinds(mine.findings), kinds(mine.elsewhere)) == (["pain"], ["restriction"])
    kept = Resolution.objects.get()
    assert (kept.by, kept.to, kept.at) == (cast.coach, second, EVENING)
    assert (
        kept.sentence == "Left elbow: no landing is over. Is it fine again?: given to Second Coach."
    )
    assert "with Second Coach, given by Owning Coach, 4 November, 18:30" in text(coach.get(REVIEW))


def test_what_was_handed_on_can_be_given_back_taken_over_and_answered_by_either(
    cast, coach, two, second, client_for
):
    press(coach, two[1], "hand", to=second.pk)
    take_back(client_for(second), Resolution.objects.get())
    assert kinds(queue_of(cast.coach, WEDNESDAY).findings) == ["pain", "restriction"]
    press(coach, two[1], "hand", to=second.pk)
    press(coach, two[1], "hand", to=cast.coach.pk)
    assert kinds(queue_of(second, WEDNESDAY).elsewhere) == ["restriction"]
    (handed,) = Resolution.objects.handed()
    assert handed.to == cast.coach
    press(client_for(second), two[1], "lift")
    for person in (cast.coach, second):
        assert kinds(queue_of(person, WEDNESDAY).findings) == ["pain"]
        assert queue_of(person, WEDNESDAY).elsewhere == []


def test_a_finding_is_handed_to_a_coach_of_the_child_and_to_nobody_else(cast, coach, two, second):
    for to in (cast.other_coach.pk, cast.guardian.pk, 0, "", "x"):
        press(coach, two[1], "hand", to=to)
        assert "Choose a coach of this child." in text(coach.get(REVIEW))
    assert Resolution.objects.count() == 0
    press(coach, two[1], "hand", to=cast.head_coach.pk)
    assert Resolution.objects.get().to == cast.head_coach


@pytest.mark.parametrize("gone", ["left the cohort", "deactivated"])
def test_what_was_handed_to_somebody_who_is_gone_is_everybodys_again(
    cast, coach, two, second, gone
):
    press(coach, two[1], "hand", to=second.pk)
    if gone == "deactivated":
        second.is_active = False
        second.save()
    else:
        cast.cohort.coaches.remove(second)
    assert kinds(queue_of(cast.coach, WEDNESDAY).findings) == ["pain", "restriction"]


def test_handing_on_twice_hands_on_once(coach, two, second):
    for _ in range(2):
        press(coach, two[1], "hand", to=second.pk)
    assert Resolution.objects.count() == 1


def test_what_was_put_off_comes_back_to_the_coach_who_had_it(cast, coach, two, second):
    press(coach, two[1], "hand", to=second.pk)
    press(coach, two[1], "later", until="2026-11-10")
    assert kinds(queue_of(second, WEDNESDAY).findings) == ["pain"]
    Resolution.objects.filter(action="later").update(until=WEDNESDAY)
    assert kinds(queue_of(second, WEDNESDAY).findings) == ["restriction", "pain"]


def test_a_limp_in_an_earlier_report_spares_the_whole_leg_too(cast, coach):
    session = did(cast.child, cast.guardian, 2)
    hurt(session, cast.guardian, days_ago=2, signs=("limp",))
    hurt(session, cast.guardian)
    (knee,) = waiting(cast.coach)
    press(coach, knee, knee.actions[0].code)
    spared = set(Restriction.objects.values_list("region", "kind"))
    legs = ("hip_groin", "thigh", "knee", "lower_leg", "ankle", "foot")
    assert spared == {(region, "nothing") for region in legs}


def test_a_report_about_the_wrong_child_is_read_as_such_and_not_as_unanswered(cast, coach, sore):
    press(coach, sore, "wrong_child")
    read = text(coach.get(reverse("program:child_review", args=[cast.child.public_id])))
    assert "Not about this child, says Owning Coach: “Looked at it on Monday”" in read
    assert "Not answered yet" not in read
