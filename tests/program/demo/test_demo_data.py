import datetime as dt
import random
from collections import Counter

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.db.models import Count, Max, Min

from athletes.models import Child, Cohort, ConsentPurpose, User
from athletes.models.consents import agreed_to
from library.models import ExerciseNote
from library.shared.uploads.keeping import uploads
from program.blocks.progressions import progression_sheet
from program.blocks.queries import sessions_of
from program.demo.load import Size, load_demo
from program.demo.scenario import GROUPS
from program.demo.season import WHY_IT_GOES_OUT
from program.demo.sign_in import DEMO_ACCOUNTS
from program.demo.simulation import SimulatedSlot, Story, log_of, traits_of
from program.engine.fit.fitting import Outcome
from program.fit.fitting import fit
from program.models import (
    AssignedSession,
    AssignedSlot,
    Block,
    Break,
    Completion,
    PainReport,
    Place,
    Question,
    Report,
    Session,
    StopReason,
    Template,
)
from program.review.queue import queue_of
from tests.support.factories import ChildFactory

WEDNESDAY = dt.date(2026, 11, 25)
THIS_MONDAY = dt.date(2026, 11, 23)


@pytest.fixture
def library(db):
    call_command("load_library")


@pytest.fixture(scope="module")
def loaded(django_db_setup, django_db_blocker):
    """The whole demo, loaded once for the tests of this file and taken back after them."""
    with django_db_blocker.unblock(), transaction.atomic():
        call_command("load_library")
        load_demo(Size(athletes=40, weeks=8), seed=1, today=WEDNESDAY)
        yield
        transaction.set_rollback(True)


@pytest.fixture
def demo(loaded, db):
    """The demo, for a test that looks at it."""


def digest() -> list:
    """Everything that a seed decides, without row ids and moments."""
    return [
        list(Child.objects.order_by("pk").values_list("given_name", "birth_date")),
        list(
            AssignedSlot.objects.order_by("pk").values_list("revision__name", "amount", "outcome")
        ),
        list(Completion.objects.order_by("pk").values_list("state", "effort", "minutes", "note")),
        list(PainReport.objects.order_by("pk").values_list("level", "note", "side")),
    ]


def small(seed: int) -> list:
    load_demo(Size(athletes=6, weeks=4), seed=seed, today=WEDNESDAY)
    return digest()


def test_the_demo_is_never_mixed_with_real_children(library):
    ChildFactory()
    with pytest.raises(CommandError, match="children in this database already"):
        call_command("load_demo")
    assert User.objects.count() == 0


@pytest.mark.parametrize(("seed", "is_same"), [(7, True), (8, False)])
def test_the_same_seed_makes_the_same_club(library, seed, is_same):
    first = small(7)
    AssignedSession.objects.all().delete()
    Session.objects.all().delete()
    Child.objects.all().delete()
    Block.objects.all().delete()
    Cohort.objects.all().delete()
    User.objects.all().delete()
    assert (small(seed) == first) is is_same


@pytest.mark.parametrize("days", range(7))
def test_on_whatever_day_it_is_opened_every_child_has_a_session_to_do_at_home(library, days):
    today = THIS_MONDAY + dt.timedelta(days=days)
    load_demo(Size(athletes=4, weeks=2), seed=1, today=today)
    at_home = AssignedSession.objects.filter(date=today, place=Place.HOME, completion=None)
    assert set(at_home.values_list("child", flat=True)) == set(
        Child.objects.values_list("pk", flat=True)
    )


def test_forty_children_in_three_cohorts_with_five_coaches(demo):
    sizes = Cohort.objects.annotate(size=Count("enrolments")).values_list("name", "size")
    assert dict(sizes) == {"Sparrows": 14, "Swifts": 13, "Kestrels": 13}
    assert User.objects.filter(role__in=["coach", "head_coach"]).count() == 5


def test_everybody_whom_the_sign_in_page_offers_is_there(demo):
    assert User.objects.filter(email__in=[door.email for door in DEMO_ACCOUNTS]).count() == len(
        DEMO_ACCOUNTS
    )
    assert User.objects.get(email="parent@fledge.example").children.count() == 2


def test_one_coach_is_a_parent_of_a_child_that_others_coach(demo):
    coach = User.objects.get(email="adaeze@fledge.example")
    own = Child.objects.of_family(coach).get()
    assert not Child.objects.coached_by(coach).contains(own)
    assert own.family_told().get() == coach
    assert Completion.objects.filter(assigned_session__child=own, logged_by=coach).exists()


def test_no_two_children_share_a_name(demo):
    names = Counter(Child.objects.values_list("given_name", "family_initial"))
    assert max(names.values()) == 1


def test_the_block_is_in_its_fourth_week(demo):
    for cohort in Cohort.objects.all():
        block = cohort.blocks.get()
        assert (block.weeks, block.week_of(WEDNESDAY)) == (8, 4)


def test_this_week_is_published_and_next_week_is_not(demo):
    published = Session.objects.filter(published_at__isnull=False)
    latest = published.aggregate(Max("date"))["date__max"]
    drafts = Session.objects.filter(published_at__isnull=True).aggregate(Min("date"))["date__min"]
    assert (latest, drafts) == (dt.date(2026, 11, 28), dt.date(2026, 11, 30))


def test_half_the_families_agree_to_heights_and_one_child_is_in_a_spurt(demo):
    head = User.objects.get(email="head@fledge.example")
    agreed = Child.objects.filter(agreed_to(ConsentPurpose.MEASUREMENTS, WEDNESDAY))
    assert agreed.count() == 20
    kinds = Counter(each.kind for each in queue_of(head, WEDNESDAY).findings)
    assert (kinds["growth"], kinds["measure"]) == (1, 1)


def test_three_questions_wait_and_one_was_answered_and_kept_as_a_note(demo):
    assert (Question.objects.count(), Question.objects.unanswered().count()) == (4, 3)
    with_photo = Question.objects.exclude(upload="").get()
    assert uploads().size(with_photo.upload) > 10_000
    answered = Question.objects.get(answered_at__isnull=False)
    assert [str(note.exercise) for note in ExerciseNote.objects.standing()] == [answered.about]


def test_every_finished_session_at_the_venue_was_logged_by_a_coach_for_the_whole_group(demo):
    over = AssignedSession.objects.filter(place="venue", date__lt=WEDNESDAY)
    assert over.count() > 60
    assert not over.filter(completion=None).exists()
    assert set(over.values_list("completion__logged_by__role", flat=True)) <= {
        "coach",
        "head_coach",
    }
    reasons = Counter(over.values_list("completion__absence", flat=True))
    assert {"", "sick", "away", "no_word"} == set(reasons)
    assert reasons[""] > 3 * (reasons["sick"] + reasons["away"] + reasons["no_word"])


def test_one_report_is_written_read_over_and_not_sent(demo):
    report = Report.objects.get()
    assert report.state == "ready to send"
    assert report.words
    assert "one step on" in report.text("learnt")
    assert any(path["began"] != path["here"] for path in report.written["paths"])


def test_holidays_touch_every_running_block_and_there_is_something_to_begin_from(demo):
    for block in Block.objects.all():
        away = Break.objects.touching(block).get()
        assert any(away.holds(session.date) for session in block.sessions.all())
    assert set(Template.objects.values_list("kind", flat=True)) == {"session", "part"}


def test_nothing_is_logged_for_today_or_later(demo):
    assert not Completion.objects.filter(assigned_session__date__gte=WEDNESDAY).exists()


def test_at_least_six_children_get_something_else_for_six_different_reasons(demo):
    reasons = {}
    for session in Session.objects.in_week(THIS_MONDAY).with_plan():
        children = list(Child.objects.enrolled_in(session.block.cohort, session.date))
        for child, slots in fit(session, children).by_child.items():
            for each in slots:
                if each.outcome is not Outcome.AS_WRITTEN:
                    reasons.setdefault(each.reasons[0].code, set()).add(child)
    assert len(reasons) >= 6, reasons
    assert len(set.union(*reasons.values())) >= 6


def test_every_home_session_takes_between_13_and_35_minutes_with_its_setting_up(demo):
    seconds = AssignedSession.objects.aggregate(Min("seconds"), Max("seconds"))
    assert 13 * 60 <= seconds["seconds__min"] <= seconds["seconds__max"] <= 35 * 60


def test_a_quarter_of_pulls_is_never_missing_beside_the_pushes(demo):
    for group in GROUPS:
        written = [line.exercise for day in group.days for pair in day.pairs for line in pair.lines]
        pulls = sum(
            any(word in each for word in ("row", "hang", "prone", "chin")) for each in written
        )
        pushes = sum("push" in each for each in written)
        assert pulls >= pushes, group.name


# The simulation alone, against the truth it hides.

SLOTS = (
    SimulatedSlot(1, 8, is_sided=True, lands=False),
    SimulatedSlot(2, 4, is_sided=False, lands=True),
)


def season(number: int, weeks: int = 30):
    chance = random.Random(5)
    traits = traits_of(number, chance, weeks)
    return traits, [log_of(traits, SLOTS, week, 1200, chance) for week in range(weeks)]


def child_with(story: Story):
    return next(season(number) for number in range(20) if season(number)[0].story is story)


def test_whoever_goes_quiet_logs_nothing_from_then_on():
    traits, logs = child_with(Story.GOES_QUIET)
    assert any(logs[: traits.quiet_from])
    assert not any(logs[traits.quiet_from :])


def test_only_the_child_whose_knee_hurts_reports_pain_and_only_on_landings():
    for story in Story:
        _, logs = child_with(story)
        pains = [log.pain for log in logs if log and log.pain]
        assert bool(pains) is (story is Story.KNEE_HURTS)
        assert all(pain.key == 2 for pain in pains)


def test_a_weaker_side_does_less_on_average_and_the_other_children_do_not_differ():
    for story, least, most in ((Story.WEAKER_SIDE, 0.15, 0.5), (Story.ORDINARY, -0.05, 0.05)):
        traits, logs = child_with(story)
        pairs = [(s.left, s.right) for log in logs if log for s in log.slots if s.left is not None]
        if traits.weaker_side == "right":
            pairs = [(right, left) for left, right in pairs]
        weaker, stronger = (sum(side) for side in zip(*pairs, strict=True))
        assert least < 1 - weaker / stronger < most


def test_racing_ahead_is_easier_than_struggling():
    efforts = {
        story: [log.effort for log in child_with(story)[1] if log and log.effort is not None]
        for story in (Story.RACES_AHEAD, Story.STRUGGLES)
    }
    assert max(efforts[Story.RACES_AHEAD]) < min(efforts[Story.STRUGGLES])


def test_what_grows_in_the_demo_is_meant_to_and_every_week_says_what_is_meant(demo):
    lanes = [
        lane
        for block in Block.objects.select_related("cohort")
        for lane in progression_sheet(block, sessions_of(block)).lanes
    ]
    assert len(lanes) >= 6
    assert {week.written for lane in lanes for week in lane.weeks} == {""}
    assert {problem for lane in lanes for problem in lane.problems} == set()


def test_a_stop_of_the_demo_went_out_with_its_reason(demo):
    kept = StopReason.objects.values_list("code", "reason").distinct()
    assert set(kept) == {("landing_first", WHY_IT_GOES_OUT)}
