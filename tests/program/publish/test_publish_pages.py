"""The publish button, and what it says afterwards."""

import pytest
from django.db import connection, transaction
from django.urls import reverse

from program.common.edit_conflicts import mark_of
from program.models import CheckChange, Session, Slot
from program.publish.publishing import Published
from program.publish.views.sending import published_in_words
from tests.support.factories import ChildFactory, ExerciseFactory
from tests.support.planning import HTMX, session_of, typed, url


@pytest.fixture
def session(cast):
    return session_of(cast.cohort, name="Strong steps", needing=False)


def publish(coach, session, **sent):
    version = Session.objects.values_list("version", flat=True).get(pk=session.pk)
    sent = {"version": version} | sent
    return coach.post(url("publish", session), sent, follow=True).content.decode()


@pytest.mark.django_db
def test_publishing_tells_what_happened(coach, cast, session):
    ChildFactory(cohort=cast.cohort)
    assert "Published: 2 children got it." in publish(coach, session)
    assert session.assigned.count() == 2
    assert "2 children had it already, unchanged." in publish(coach, session)


@pytest.mark.django_db
def test_a_child_who_lacks_what_it_needs_is_told_of_not_passed_over(coach, cast):
    html = publish(coach, session_of(cast.cohort))
    assert "1 child did not get it: a choice is yours to make first." in html
    assert "is-look" in html


@pytest.mark.django_db
def test_an_edit_after_publishing_is_seen_and_publishing_again_settles_it(coach, session):
    publish(coach, session)
    assert "edited since publishing" not in coach.get(url("build", session)).content.decode()
    slot = Slot.objects.filter(part__session=session).first()
    answer = coach.post(url("slot", session, slot.pk), typed(slot, amount="11"), headers=HTMX)
    assert "edited since publishing" in answer.content.decode()
    assert "Published: 1 child got it anew." in publish(coach, session)
    assert "edited since publishing" not in coach.get(url("build", session)).content.decode()


@pytest.mark.django_db
def test_an_empty_session_is_refused_with_the_reason(coach, cast):
    session = session_of(cast.cohort, parts=1, slots=0)
    assert "There is no exercise in this session yet." in publish(coach, session)
    session.refresh_from_db()
    assert not session.is_published


@pytest.mark.django_db
def test_a_session_with_an_unpublished_exercise_is_refused_with_its_name(coach, session):
    exercise = Slot.objects.filter(part__session=session).first().exercise
    type(exercise).objects.filter(pk=exercise.pk).update(status="draft")
    assert f"{exercise} is not published in the library." in publish(coach, session)
    assert not session.assigned.exists()


@pytest.mark.django_db
def test_what_somebody_changed_unseen_is_not_published(coach, session):
    Session.objects.update(version=5)
    html = publish(coach, session, version="1")
    assert "changed this session since you opened it. Nothing was published." in html
    assert not session.assigned.exists()


@pytest.mark.django_db(transaction=True)
def test_publishing_while_somebody_else_has_the_session_says_so(coach, session):
    """A second connection holds the row, as another coach's publishing would."""
    other = connection.copy()
    try:
        with transaction.atomic():
            other.ensure_connection()
            other.connection.execute("BEGIN")
            other.connection.execute(
                "SELECT 1 FROM program_session WHERE id = %s FOR UPDATE", [session.pk]
            )
        assert "Somebody else is publishing or changing this session" in publish(coach, session)
    finally:
        other.close()
    assert not session.assigned.exists()


@pytest.mark.parametrize(
    ("done", "words"),
    [
        (Published(new=1), "Published: 1 child got it."),
        (
            Published(replaced=3, kept=2, held=1),
            "Published: 3 children got it anew; 2 children kept the one they have started; "
            "1 child did not get it: a choice is yours to make first.",
        ),
        (Published(removed=2), "Published: 2 children no longer have it."),
        (Published(), "Nobody is in this cohort that day."),
    ],
)
def test_every_outcome_is_told_in_plain_words(done, words):
    assert published_in_words(done) == words


class TestAStop:
    """A check that says stop wants a written reason, once."""

    @pytest.fixture
    def landing(self, cast):
        session = session_of(cast.cohort, slots=1, needing=False, name="Hops")
        exercise = ExerciseFactory(
            revision__name="Hop and freeze", revision__pattern="land", revision__contacts=1
        )
        Slot.objects.filter(part__session=session).update(exercise=exercise)
        return session

    SENTENCE = "1 child meets Hop and freeze before anybody placed them on landing."

    @pytest.mark.django_db
    def test_without_a_reason_nothing_goes_out(self, coach, landing):
        html = publish(coach, landing)
        assert "Before Hops goes out" in html
        assert self.SENTENCE in html
        assert not landing.assigned.exists()
        assert not landing.stop_reasons.exists()

    @pytest.mark.django_db
    @pytest.mark.parametrize("because", ["", "  \n", ".", "ok", "12 3", "x y " * 76])
    def test_blanks_and_too_many_words_are_no_reason(self, coach, landing, because):
        html = publish(coach, landing, because=because)
        assert "invalid-feedback" in html
        assert not landing.assigned.exists()

    @pytest.mark.django_db
    def test_with_a_reason_it_goes_out_and_the_reason_is_kept_and_shown(self, coach, cast, landing):
        because = "All of them landed well on Monday; I watched."
        assert "1 child got it." in publish(coach, landing, because=because)
        kept = landing.stop_reasons.get()
        assert (kept.code, kept.sentence) == ("landing_first", self.SENTENCE)
        assert (kept.reason, kept.by) == (because, cast.coach)
        assert because in coach.get(url("look", landing)).content.decode()

    @pytest.mark.django_db
    def test_the_same_stop_is_answered_once_and_another_anew(self, coach, cast, landing):
        publish(coach, landing, because="I watched.")
        assert "had it already, unchanged" in publish(coach, landing)
        ChildFactory(cohort=cast.cohort)
        assert "Before Hops goes out" in publish(coach, landing)
        assert "1 child got it; 1 child had it already" in publish(
            coach, landing, because="Both landed well."
        )
        assert landing.stop_reasons.count() == 2

    @pytest.mark.django_db
    def test_a_reason_without_a_stop_is_not_kept(self, coach, session):
        assert "1 child got it." in publish(coach, session, because="Just so.")
        assert not session.stop_reasons.exists()

    @pytest.mark.django_db
    def test_a_stop_that_the_program_switched_off_wants_no_reason(self, coach, cast, landing):
        CheckChange.objects.create(
            code="landing_first", is_off=True, reason="Placed on paper.", at=landing.edited_at
        )
        assert "1 child got it." in publish(coach, landing)

    @pytest.mark.django_db
    def test_another_coach_cannot_publish_with_any_reason(self, cast, client_for, landing):
        stranger = client_for(cast.other_coach)
        answer = stranger.post(url("publish", landing), {"version": 1, "because": "It is mine."})
        assert answer.status_code == 404
        assert not landing.stop_reasons.exists()

    @pytest.mark.django_db
    def test_a_week_goes_out_but_for_the_session_with_the_stop(self, coach, cast, landing):
        calm = session_of(cast.cohort, block=landing.block, name="Calm", needing=False)
        week = reverse("program:publish_week", args=[landing.block_id, 1])
        answer = coach.post(week, {"mark": mark_of([landing, calm])}, follow=True)
        html = answer.content.decode()
        assert f"Hops: {self.SENTENCE} Write why it goes out nevertheless, then publish." in html
        assert "Calm. Published: 1 child got it." in html
        assert (landing.assigned.count(), calm.assigned.count()) == (0, 1)
