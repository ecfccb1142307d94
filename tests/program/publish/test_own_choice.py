"""A coach's own choice for one child passes the checks that a written slot passes."""

import datetime as dt
import re

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from program.models import Override, Slot
from program.publish.deciding import ChoiceNeedsReason
from program.publish.publishing import publish
from tests.support.deciding import set_override
from tests.support.factories import ExerciseFactory, PathwayFactory, SlotFactory
from tests.support.planning import session_of

pytestmark = pytest.mark.django_db

SAYS_STOP = "1 child meets Hop and freeze before anybody placed them on landing."
BECAUSE = "Landed safely on Monday; I watched."


@pytest.fixture
def session(cast):
    return session_of(cast.cohort, name="Strong steps", parts=1, slots=1, needing=False)


@pytest.fixture
def slot(session):
    return Slot.objects.get(part__session=session)


@pytest.fixture
def hop():
    return ExerciseFactory(
        slug="hop-and-freeze",
        revision__name="Hop and freeze",
        revision__pattern="land",
        revision__contacts=1,
    )


def page_of(slot, child):
    return reverse("program:decision", args=[slot.part.session_id, slot.pk, child.public_id])


def choose(client, slot, child, choice, **more):
    return client.post(page_of(slot, child), {"choice": choice} | more)


def on_landing(child, *exercises):
    pathway = PathwayFactory(slug="landing", pattern="land", chain=exercises)
    child.placements.create(pathway=pathway, exercise=exercises[-1], placed_at=timezone.now())


def suitable_in(html):
    """The names in the order of the list; leaving it out comes after the few that are shown at
    once, and is put last here."""
    names = re.findall(r'class="option-name">([^<]*)<', html)
    return [*(name for name in names if name != "Leave it out"), "Leave it out"]


class TestAStop:
    def test_a_landing_for_a_child_not_placed_on_landing_asks_why_before_it_goes_out(
        self, cast, coach, session, slot, hop
    ):
        publish(session, cast.coach, timezone.now())
        answer = choose(coach, slot, cast.child, "hop-and-freeze", note="Softly.")
        html = answer.content.decode()
        assert answer.status_code == 422
        assert SAYS_STOP in html
        assert "Softly." in html
        assert not Override.objects.exists()
        assert session.assigned.get().slots.get().revision.exercise != hop

    @pytest.mark.parametrize("because", ["", "   ", "."])
    def test_without_words_it_is_not_kept(self, cast, coach, slot, hop, because):
        answer = choose(coach, slot, cast.child, "hop-and-freeze", because=because)
        assert answer.status_code == 422
        assert SAYS_STOP in answer.content.decode()
        assert not Override.objects.exists()

    def test_the_reason_is_kept_with_the_choice_who_and_when(self, cast, coach, session, slot, hop):
        publish(session, cast.coach, timezone.now())
        answer = choose(coach, slot, cast.child, "hop-and-freeze", because=BECAUSE)
        assert answer.status_code == 302
        kept = Override.objects.get()
        assert (kept.exercise, kept.because, kept.in_spite_of) == (hop, BECAUSE, [SAYS_STOP])
        assert kept.set_by == cast.coach
        assert timezone.now() - kept.set_at < dt.timedelta(minutes=1)
        assert session.assigned.get().slots.get().revision.exercise == hop
        html = coach.get(page_of(slot, cast.child)).content.decode()
        for words in (SAYS_STOP, BECAUSE, str(cast.coach)):
            assert words in html

    def test_begun_on_landing_with_the_group_and_not_seen_there_is_not_placed(
        self, cast, coach, slot, hop
    ):
        on_landing(cast.child, ExerciseFactory(), hop)
        cast.child.placements.update(is_seen=False)
        answer = choose(coach, slot, cast.child, "hop-and-freeze")
        assert answer.status_code == 422
        assert SAYS_STOP in answer.content.decode()

    def test_placed_on_landing_it_is_kept_without_a_reason(self, cast, coach, slot, hop):
        on_landing(cast.child, ExerciseFactory(), hop)
        answer = choose(coach, slot, cast.child, "hop-and-freeze", because=BECAUSE)
        assert answer.status_code == 302
        kept = Override.objects.get()
        assert (kept.because, kept.in_spite_of) == ("", [])

    def test_another_landing_is_asked_about_though_the_written_one_went_out_with_a_reason(
        self, cast, slot, hop
    ):
        Slot.objects.filter(pk=slot.pk).update(exercise=hop)
        SlotFactory(part=slot.part, position=5, exercise=hop)
        publish(slot.part.session, cast.coach, timezone.now(), because=BECAUSE)
        other = ExerciseFactory(revision__pattern="jump", revision__contacts=1)
        with pytest.raises(ChoiceNeedsReason):
            set_override(slot, cast.child, other, "", cast.coach, timezone.now())

    def test_leaving_the_slot_out_is_never_asked_about(self, cast, slot, hop):
        Slot.objects.filter(pk=slot.pk).update(exercise=hop)
        set_override(slot, cast.child, None, "", cast.coach, timezone.now())
        assert Override.objects.get().because == ""

    def test_a_calmer_choice_later_lets_the_reason_go(self, cast, coach, slot, hop):
        choose(coach, slot, cast.child, "hop-and-freeze", because=BECAUSE)
        choose(coach, slot, cast.child, slot.exercise.slug)
        kept = Override.objects.get()
        assert (kept.because, kept.in_spite_of) == ("", [])

    @pytest.mark.parametrize(
        "row",
        [
            {"because": "."},
            {"because": "No stop was said.", "in_spite_of": []},
            {"because": "", "in_spite_of": [SAYS_STOP]},
        ],
    )
    def test_the_database_keeps_stop_and_reason_together(self, cast, slot, row):
        with pytest.raises(IntegrityError), transaction.atomic():
            Override.objects.create(slot=slot, child=cast.child, **row)


class TestTheList:
    @pytest.fixture
    def pathway(self, slot):
        chain = [slot.exercise, *(ExerciseFactory(slug=s) for s in ("deeper", "lower", "hardest"))]
        return PathwayFactory(slug="squats", chain=[ExerciseFactory(slug="easiest"), *chain])

    def test_suitable_ones_come_first_the_nearest_to_what_fit_gives_at_the_top(
        self, cast, coach, slot, pathway, hop
    ):
        html = coach.get(page_of(slot, cast.child)).content.decode()
        names = suitable_in(html)
        written = slot.exercise.current.name
        assert names[:3] == [written, "Easiest", "Deeper"]
        assert names[-2:] == ["Hop and freeze", "Leave it out"]
        assert "stop: landing before it was placed" in html

    def test_what_lies_beyond_the_placement_comes_last_and_says_so(
        self, cast, coach, slot, pathway
    ):
        cast.child.placements.create(
            pathway=pathway, exercise=slot.exercise, placed_at=timezone.now()
        )
        html = coach.get(page_of(slot, cast.child)).content.decode()
        names = suitable_in(html)
        assert names[-4:-1] == ["Deeper", "Lower", "Hardest"]
        assert html.count("not that far yet") >= 3

    def test_what_would_pass_the_ground_contacts_is_not_offered(self, cast, coach, slot):
        # 12 × 10 contacts, where an eleven-year-old has 80.
        Slot.objects.filter(pk=slot.pk).update(amount=12)
        ExerciseFactory(slug="far-too-much", revision__pattern="skip", revision__contacts=10)
        html = coach.get(page_of(slot, cast.child)).content.decode()
        assert 'value="far-too-much"' not in html
        refused = choose(coach, slot, cast.child, "far-too-much")
        assert "not allowed for this child now" in refused.content.decode()

    def test_what_leaves_no_contacts_for_what_comes_after_is_marked(self, cast, coach, slot, hop):
        # 8 × 7 contacts, and 8 × 4 asked later: together over the 80 of an eleven-year-old.
        ExerciseFactory(
            slug="much", revision__name="Much", revision__pattern="skip", revision__contacts=7
        )
        later = ExerciseFactory(
            slug="later", revision__name="Later", revision__pattern="skip", revision__contacts=4
        )
        SlotFactory(part=slot.part, position=5, exercise=later)
        html = coach.get(page_of(slot, cast.child)).content.decode()
        assert "leaves a later exercise to you" in html
        assert "later would pass 80 ground contacts" in html
