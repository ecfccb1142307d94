"""What a coach decides once holds in every session, until a fact changes or a day comes."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from athletes.changes import answer_kit, equip_venue, place
from library.models import Exercise, Item
from program.engine.fit.library import Need
from program.models import CheckChange, Override, Refit, Session, Slot, StandingDecision
from program.publish.deciding import Said, Word, decide, end_decision, leave_out_lacking
from program.publish.publishing import PublishNeedsReason, publish
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    ExerciseFactory,
    PartFactory,
    PathwayFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.sliding import has, session_with, spare_the_thigh
from tests.support.work import work_off

pytestmark = pytest.mark.django_db

SMOOTH = Need("a smooth floor for sliding", frozenset({"smooth-floor"}))


@pytest.fixture
def wall_sit(slides):
    """Something that needs nothing and works other places."""
    return ExerciseFactory(
        slug="wall-sit",
        revision__name="Wall sit",
        revision__loads=["wrist_hand"],
        revision__moves=[],
        revision__pattern="push",
    )


@pytest.fixture
def session(cast, slides, wall_sit):
    """A slide and a wall sit; nothing on the pathway of slides fits a spared thigh or carpet."""
    Exercise.objects.filter(slug="heel-walk-out").update(status="retired")
    written = session_with(cast.cohort)
    SlotFactory(part=PartFactory(session=written, position=1), exercise=wall_sit)
    has(cast.child, "carpet")
    return written


@pytest.fixture
def slot(session):
    return Slot.objects.get(part__session=session, exercise__slug="heel-slide")


def next_day(session):
    """The same session once more, as a copy has it."""
    there = SessionFactory(block=session.block, date=session.date + dt.timedelta(days=1))
    part = PartFactory(session=there)
    SlotFactory(part=part, exercise=Exercise.objects.get(slug="heel-slide"))
    SlotFactory(part=part, position=1, exercise=Exercise.objects.get(slug="wall-sit"))
    return there


def tomorrow(session):
    """That session, moved to what the worker has chosen anew."""
    session.date = timezone.localdate() + dt.timedelta(days=1)
    session.save(update_fields=["date"])
    return session


def said(cast, lasts="kit", **more):
    return Said(by=cast.coach, at=timezone.now(), lasts=lasts, **more)


def instead(cast, slot, exercise, child=None, **more):
    decide(slot.part.session, [Word(slot, child or cast.child, exercise)], said(cast, **more))


def got(session, child):
    """The exercises that a child was sent, or None where it was sent nothing."""
    assigned = session.assigned.filter(child=child).first()
    return assigned and [each.revision.exercise.slug for each in assigned.slots.all()]


def sent(session, cast):
    publish(session, cast.coach, timezone.now())
    return got(session, cast.child)


class TestHolds:
    def test_in_the_session_it_was_decided_in_and_in_a_copy_of_it(
        self, cast, session, slot, wall_sit
    ):
        assert sent(session, cast) is None
        instead(cast, slot, wall_sit)
        assert got(session, cast.child) == ["wall-sit", "wall-sit"]
        assert sent(next_day(session), cast) == ["wall-sit", "wall-sit"]

    def test_leaving_out_holds_as_well(self, cast, session, slot):
        instead(cast, slot, None)
        assert sent(next_day(session), cast) == ["wall-sit"]

    def test_what_is_published_ahead_follows(self, cast, session, slot):
        ahead = tomorrow(next_day(session))
        assert sent(ahead, cast) is None
        instead(cast, slot, None)
        work_off()
        assert got(ahead, cast.child) == ["wall-sit"]

    def test_the_family_reads_the_word_with_it(self, cast, session, slot, wall_sit):
        instead(cast, slot, wall_sit, note="On carpet.")
        ahead = next_day(session)
        sent(ahead, cast)
        first, _ = ahead.assigned.get().slots.all()
        assert (first.note, first.outcome) == ("On carpet.", "coach_choice")

    def test_not_for_another_child(self, cast, session, slot, wall_sit):
        other = ChildFactory(cohort=cast.cohort)
        has(other, "carpet")
        instead(cast, slot, wall_sit)
        publish(session, cast.coach, timezone.now())
        assert got(session, other) is None

    def test_not_at_the_venue_if_it_was_decided_at_home(self, cast, session, slot):
        equip_venue(cast.cohort, list(Item.objects.filter(slug="smooth-floor")))
        has(cast.child, "smooth-floor")
        instead(cast, slot, None)
        there = session_with(cast.cohort, place="venue")
        assert sent(there, cast) == ["heel-slide"]

    def test_where_nothing_fits_it_gives_way_as_soon_as_something_does(
        self, cast, session, slot, wall_sit
    ):
        spare_the_thigh(cast.child)
        has(cast.child, "smooth-floor")
        instead(cast, slot, wall_sit, lasts="block")
        assert sent(session, cast) == ["wall-sit", "wall-sit"]
        # The thigh is spared that one day alone.
        assert sent(next_day(session), cast) == ["heel-slide", "wall-sit"]

    def test_in_the_place_of_what_fits_it_holds_always(self, cast, session, slot, wall_sit):
        has(cast.child, "smooth-floor")
        instead(cast, slot, wall_sit, lasts="block")
        assert not StandingDecision.objects.get().where_nothing_fits
        assert sent(next_day(session), cast) == ["wall-sit", "wall-sit"]

    def test_what_is_said_of_one_session_goes_before_it(self, cast, session, slot, wall_sit):
        instead(cast, slot, wall_sit)
        instead(cast, slot, None, lasts=None)
        assert sent(session, cast) == ["wall-sit"]
        assert sent(next_day(session), cast) == ["wall-sit", "wall-sit"]

    def test_deciding_anew_replaces_it_and_what_was_said_of_this_session(
        self, cast, session, slot, wall_sit
    ):
        instead(cast, slot, None, lasts=None)
        instead(cast, slot, None)
        instead(cast, slot, wall_sit)
        assert StandingDecision.objects.standing().get().exercise == wall_sit
        assert not Override.objects.exists()


class TestEnds:
    def test_with_the_kit(self, cast, session, slot):
        instead(cast, slot, None)
        answer_kit(cast.child, list(Item.objects.filter(slug="carpet")), cast.guardian)
        assert StandingDecision.objects.standing().exists()  # the same as before
        answer_kit(cast.child, [], cast.guardian)
        ended = StandingDecision.objects.get()
        assert (ended.ended_at is not None, ended.ended_by) == (True, None)
        assert sent(session, cast) is None

    def test_with_the_venues_kit_where_it_was_decided_there(self, cast, slides, wall_sit):
        there = session_with(cast.cohort, place="venue")
        slot = Slot.objects.get(part__session=there)
        has(cast.child, "smooth-floor")
        instead(cast, slot, wall_sit)
        answer_kit(cast.child, [], cast.guardian)
        assert StandingDecision.objects.standing().exists()
        equip_venue(cast.cohort, list(Item.objects.filter(slug="smooth-floor")))
        assert not StandingDecision.objects.standing().exists()

    def test_with_the_block(self, cast, session, slot):
        instead(cast, slot, None, lasts="block")
        later = SessionFactory(block=BlockFactory(cohort=cast.cohort), date=session.date)
        SlotFactory(part=PartFactory(session=later), exercise=slot.exercise)
        assert sent(later, cast) is None

    def test_after_its_last_day(self, cast, session, slot):
        instead(cast, slot, None, lasts="day", until=session.date)
        assert sent(session, cast) == ["wall-sit"]
        assert sent(next_day(session), cast) is None

    def test_when_somebody_takes_it_back_and_what_is_out_follows(self, cast, session, slot):
        has(cast.child, "smooth-floor")
        instead(cast, slot, None)
        assert sent(tomorrow(session), cast) == ["wall-sit"]
        decision = StandingDecision.objects.get()
        assert end_decision(decision, cast.coach, timezone.now())
        assert not end_decision(decision, cast.coach, timezone.now())
        work_off()
        assert got(session, cast.child) == ["heel-slide", "wall-sit"]


class TestSafe:
    def test_what_a_limit_forbids_now_is_put_to_the_coach_again(self, cast, session, slot):
        bridge = ExerciseFactory(slug="bridge", revision__loads=["thigh"], revision__moves=[])
        instead(cast, slot, bridge)
        spare_the_thigh(cast.child)
        assert sent(session, cast) is None

    def test_a_landing_asks_for_a_reason_when_it_is_decided(self, cast, session, slot):
        hop = ExerciseFactory(slug="hop", revision__pattern="land", revision__contacts=1)
        because = "Landed safely on Monday; I watched."
        instead(cast, slot, hop, because=because)
        decision = StandingDecision.objects.get()
        assert (decision.because, len(decision.in_spite_of)) == (because, 1)
        assert sent(next_day(session), cast) == ["hop", "wall-sit"]

    def test_a_stop_that_came_later_is_put_to_the_coach_at_the_next_publishing(
        self, cast, session, slot
    ):
        hop = ExerciseFactory(slug="hop", revision__pattern="land", revision__contacts=1)
        off = CheckChange.objects.create(
            code="landing_first",
            is_off=True,
            reason="We place them in the hall.",
            by=cast.head_coach,
            at=timezone.now(),
            confirmed_at=timezone.now(),
            confirmed_by=cast.other_coach,
        )
        instead(cast, slot, hop)
        assert sent(session, cast) == ["hop", "wall-sit"]
        off.delete()
        assert sent(next_day(session), cast) is None

    @pytest.mark.parametrize(
        "row",
        [
            {"lasts": "kit", "written": None},
            {"lasts": "kit", "needing": ["rope"], "missing": "a rope"},
            {"lasts": "kit", "needing": ["rope"], "written": None},
            {"lasts": "day"},
            {"lasts": "block"},
            {"lasts": "kit", "place": "moon"},
            {"lasts": "kit", "because": "No stop was said."},
        ],
    )
    def test_the_database_refuses_half_a_decision(self, cast, session, slot, row):
        whole = {
            "child": cast.child,
            "cohort": cast.cohort,
            "place": "home",
            "written": slot.exercise,
            "set_at": timezone.now(),
        }
        with pytest.raises(IntegrityError), transaction.atomic():
            StandingDecision.objects.create(**whole | row)


class TestLacking:
    def test_whatever_needs_the_floor_is_left_out_whichever_session_asks_for_it(
        self, cast, session
    ):
        leave_out_lacking(session, {cast.child: [SMOOTH]}, said(cast))
        assert sent(session, cast) == ["wall-sit"]
        there = next_day(session)
        Slot.objects.filter(part__session=there, exercise__slug="heel-slide").update(
            exercise=Exercise.objects.get(slug="one-leg-slide")
        )
        assert sent(there, cast) == ["wall-sit"]

    def test_saying_it_twice_keeps_it_once(self, cast, session):
        for _ in range(2):
            leave_out_lacking(session, {cast.child: [SMOOTH, SMOOTH]}, said(cast))
        assert StandingDecision.objects.standing().count() == 1


class TestLanding:
    """Nobody has placed the child on landing, and the session holds a hop."""

    BECAUSE = "All of them landed safely on Monday; I watched."

    @pytest.fixture
    def hop(self):
        return ExerciseFactory(slug="hop", revision__pattern="land", revision__contacts=1)

    @pytest.fixture
    def session(self, cast, wall_sit, hop):
        written = SessionFactory(block=BlockFactory(cohort=cast.cohort))
        part = PartFactory(session=written)
        SlotFactory(part=part, exercise=hop)
        SlotFactory(part=part, position=1, exercise=wall_sit)
        return written

    @pytest.fixture
    def slot(self, session, hop):
        return Slot.objects.get(part__session=session, exercise=hop)

    def test_without_a_placement_the_session_is_stopped(self, cast, session):
        with pytest.raises(PublishNeedsReason):
            publish(session, cast.coach, timezone.now())

    def test_who_leaves_every_landing_out_is_not_asked_about(self, cast, session, slot):
        instead(cast, slot, None, lasts="landing")
        assert sent(session, cast) == ["wall-sit"]

    def test_nor_who_does_something_else_in_its_place(self, cast, session, slot, wall_sit):
        instead(cast, slot, wall_sit, lasts=None)
        assert sent(session, cast) == ["wall-sit", "wall-sit"]

    def test_one_landing_of_two_is_not_all(self, cast, session, slot):
        other = ExerciseFactory(slug="leap", revision__pattern="jump", revision__contacts=1)
        SlotFactory(part=slot.part, position=2, exercise=other)
        instead(cast, slot, None, lasts="landing")
        with pytest.raises(PublishNeedsReason):
            publish(session, cast.coach, timezone.now())

    def test_it_ends_when_the_child_is_placed_on_landing(self, cast, session, slot, hop):
        instead(cast, slot, None, lasts="landing")
        shallow, deep = ExerciseFactory(), ExerciseFactory()
        squats = PathwayFactory(slug="squats", pattern="squat", chain=[shallow, deep])
        place(cast.child, squats, deep, cast.coach)
        assert StandingDecision.objects.standing().exists()
        landings = PathwayFactory(slug="landing", pattern="land", chain=[ExerciseFactory(), hop])
        place(cast.child, landings, hop, cast.coach)
        assert not StandingDecision.objects.standing().exists()
        assert sent(session, cast) == ["hop", "wall-sit"]

    def test_the_page_offers_to_leave_landings_to_the_venue(self, cast, coach, session):
        page = TestInThePage()
        html = page.page(coach, session)
        assert "Not placed on landing yet" in html
        page.answer(coach, session, html, "leave-out", lasts="landing")
        assert "Not placed on landing yet" not in page.page(coach, session)
        assert sent(session, cast) == ["wall-sit"]


class TestInThePage:
    def page(self, coach, session):
        return coach.get(reverse("program:who_gets_what", args=[session.pk])).content.decode()

    def answer(self, coach, session, html, do, lasts="kit"):
        form = html.partition("data-open-group")[2].partition("</form>")[0]

        def values(name):
            for chunk in form.split(f'name="{name}"')[1:]:
                yield chunk.partition('value="')[2].partition('"')[0]

        sent = {"group": next(values("group")), "place": list(values("place"))}
        address = reverse("program:decide_group", args=[session.pk])
        return coach.post(address, sent | {"do": do, "lasts": lasts}, follow=True)

    def test_one_answer_does_for_all_who_lack_the_floor(self, cast, coach, session):
        other = ChildFactory(cohort=cast.cohort)
        has(other, "carpet")
        html = self.page(coach, session)
        assert "1 answer, then everybody has the session" in html
        assert "No smooth floor for sliding" in html
        after = self.answer(coach, session, html, "instead").content.decode()
        assert "Everybody has something to do" in after
        assert {each.exercise.slug for each in StandingDecision.objects.all()} == {"wall-sit"}
        publish(session, cast.coach, timezone.now())
        assert got(session, other) == ["wall-sit", "wall-sit"]

    def test_leaving_out_is_about_the_floor_and_not_the_exercise(self, cast, coach, session):
        self.answer(coach, session, self.page(coach, session), "leave-out")
        assert StandingDecision.objects.get().needing == ["smooth-floor"]

    def test_for_this_session_only_nothing_stands(self, cast, coach, session):
        self.answer(coach, session, self.page(coach, session), "leave-out", lasts="session")
        assert not StandingDecision.objects.exists()
        assert Override.objects.get().exercise is None

    def test_what_changed_meanwhile_is_not_decided_unseen(self, cast, coach, session):
        html = self.page(coach, session)
        has(cast.child, "smooth-floor")
        after = self.answer(coach, session, html, "instead").content.decode()
        assert "Something changed since you opened this." in after
        assert not StandingDecision.objects.exists()

    def test_the_same_for_all_like_this_in_one_place(self, cast, coach, session, slot):
        other = ChildFactory(cohort=cast.cohort)
        has(other, "carpet")
        coach.post(
            reverse("program:decision", args=[session.pk, slot.pk, cast.child.public_id]),
            {"choice": "wall-sit", "lasts": "kit", "everybody": "on"},
        )
        decided = {each.child for each in StandingDecision.objects.all()}
        assert decided == {cast.child, other}

    def test_the_rest_goes_out_and_says_that_more_is_to_come(self, cast, coach, session):
        publish(session, cast.coach, timezone.now())
        assert got(session, cast.child) is None
        coach.post(
            reverse("program:publish", args=[session.pk]),
            {"version": session.version, "incomplete": "1", "from_fit": "1"},
        )
        assigned = session.assigned.get()
        assert (got(session, cast.child), assigned.to_come) == (["wall-sit"], 1)

    def test_what_was_open_follows_once_it_is_chosen(self, cast, session, slot, wall_sit):
        publish(session, cast.coach, timezone.now(), goes_out_incomplete=True)
        instead(cast, slot, wall_sit)
        assigned = Session.objects.get(pk=session.pk).assigned.get()
        assert (got(session, cast.child), assigned.to_come) == (["wall-sit", "wall-sit"], 0)

    def test_a_coach_is_not_told_again_of_what_it_has_decided(self, cast, session, slot):
        has(cast.child, "smooth-floor")
        publish(session, cast.coach, timezone.now())
        instead(cast, slot, None)
        work_off()
        assert not Refit.objects.exists()

    def test_it_is_taken_back_where_it_stands(self, cast, coach, session, slot, wall_sit):
        instead(cast, slot, wall_sit)
        place = [session.pk, slot.pk, cast.child.public_id]
        assert (
            "Decided until the kit changes"
            in coach.get(reverse("program:decision", args=place)).content.decode()
        )
        coach.post(reverse("program:decision_back", args=place))
        assert not StandingDecision.objects.standing().exists()


def test_a_child_has_its_own_day_and_does_not_see_anothers(cast, session, slot, client_for):
    instead(cast, slot, None)
    decision = StandingDecision.objects.get()
    assert set(StandingDecision.objects.visible_to(cast.coach)) == {decision}
    assert not StandingDecision.objects.visible_to(cast.other_coach).exists()
    address = reverse("program:end_decision", args=[cast.child.public_id, decision.pk])
    assert client_for(cast.other_coach).post(address).status_code == 404
    assert session.date >= MONDAY
