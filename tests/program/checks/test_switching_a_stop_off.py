"""What lets children meet what a stop holds back wants two head coaches, or is said each time."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from program.models import CheckChange, Slot, StopReason
from program.publish.publishing import PublishNeedsReason, publish
from tests.support.factories import ExerciseFactory, UserFactory
from tests.support.planning import session_of, url

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 11, 23, 9, tzinfo=dt.UTC)
SENTENCE = "1 child meets Hop before anybody placed them on landing."


@pytest.fixture
def landing(cast):
    session = session_of(cast.cohort, slots=1, needing=False, name="Hops")
    exercise = ExerciseFactory(revision__name="Hop", revision__pattern="land", revision__contacts=1)
    Slot.objects.filter(part__session=session).update(exercise=exercise)
    return session


@pytest.fixture
def head(cast, client_for):
    return client_for(cast.head_coach)


@pytest.fixture
def second():
    return UserFactory(name="Second Head", role="head_coach")


def switch_off(client, code="landing_first", **more):
    sent = {"is_off": "on", "reason": "All are placed on paper."} | more
    return client.post(reverse("program:check", args=[code]), sent, follow=True)


def act(client, name, code="landing_first"):
    return client.post(reverse(f"program:{name}", args=[code]), follow=True).content.decode()


class TestTwoHeadCoaches:
    def test_one_alone_only_proposes(self, cast, head, second, landing):
        html = switch_off(head).content.decode()
        assert "holds once another head coach confirms it" in html
        assert "All are placed on paper." in html
        with pytest.raises(PublishNeedsReason):
            publish(landing, cast.coach, NOW)

    def test_the_one_who_proposed_cannot_confirm(self, cast, head, second, landing):
        switch_off(head)
        assert "Confirm" not in head.get(reverse("program:checks")).content.decode()
        assert "another head coach has to confirm it" in act(head, "check_confirm")
        with pytest.raises(PublishNeedsReason):
            publish(landing, cast.coach, NOW)

    def test_confirmed_by_another_it_holds_and_says_nothing_any_more(
        self, cast, head, second, landing, client_for
    ):
        switch_off(head)
        other = client_for(second)
        assert "Confirm" in other.get(reverse("program:checks")).content.decode()
        act(other, "check_confirm")
        change = CheckChange.objects.standing().get()
        assert (change.by, change.confirmed_by) == (cast.head_coach, second)
        published = publish(landing, cast.coach, NOW)
        assert (published.new, published.said_again) == (1, ())

    def test_what_stood_stands_until_then(self, cast, head, second, landing):
        head.post(
            reverse("program:check", args=["rest_days"]), {"least": "2", "reason": "Two at least."}
        )
        head.post(
            reverse("program:check", args=["rest_days"]), {"least": "0", "reason": "A whole camp."}
        )
        assert CheckChange.objects.standing().get(code="rest_days").least == 2
        assert CheckChange.objects.waiting().get(code="rest_days").least == 0

    def test_a_proposal_is_declined_and_kept(self, cast, head, second, client_for):
        switch_off(head)
        html = act(client_for(second), "check_decline")
        assert not CheckChange.objects.waiting().exists()
        assert CheckChange.objects.get().ended_by == second
        assert "All are placed on paper." in html

    def test_a_coach_neither_confirms_nor_declines(self, head, second, coach):
        switch_off(head)
        for name in ("check_confirm", "check_decline"):
            address = reverse(f"program:{name}", args=["landing_first"])
            assert coach.post(address).status_code == 404
        assert CheckChange.objects.waiting().exists()

    def test_a_head_coach_who_left_is_no_second_one(self, head, second, landing, cast):
        type(second).objects.filter(pk=second.pk).update(is_active=False)
        switch_off(head)
        assert CheckChange.objects.standing().exists()

    def test_what_is_no_stop_needs_nobody_else(self, head, second):
        switch_off(head, "sets")
        assert CheckChange.objects.standing().get().is_off


class TestTheOnlyHeadCoach:
    def test_it_holds_and_is_said_at_every_publishing_it_would_have_stopped(
        self, cast, head, coach, landing
    ):
        switch_off(head)
        for _ in range(2):
            html = coach.post(
                url("publish", landing), {"version": landing.version}, follow=True
            ).content.decode()
            assert f"Landing before it was placed is switched off here. {SENTENCE}" in html
        assert landing.assigned.count() == 1
        assert SENTENCE in coach.get(url("look", landing)).content.decode()

    def test_a_looser_limit_of_a_stop_is_said_again_too(self, cast, head, landing):
        head.post(
            reverse("program:check", args=["rest_days"]), {"least": "0", "reason": "A whole camp."}
        )
        for days in range(1, 7):
            session_of(
                cast.cohort,
                block=landing.block,
                slots=1,
                needing=False,
                date=landing.date + dt.timedelta(days=days),
            )
        published = publish(landing, cast.coach, NOW, because="I watched them land.")
        assert [each.sentence for each in published.said_again] == ["No day off this week."]

    def test_a_second_head_coach_later_confirms_what_stands(
        self, cast, head, landing, second, client_for
    ):
        CheckChange.objects.create(
            code="landing_first", is_off=True, reason="Placed on paper.", by=cast.head_coach, at=NOW
        )
        assert publish(landing, cast.coach, NOW).said_again
        act(client_for(second), "check_confirm")
        assert not publish(landing, cast.coach, NOW).said_again


@pytest.mark.parametrize("reason", [".", "ok", "12 3", " . . "])
def test_the_database_takes_words_alone_for_a_reason(landing, reason):
    with pytest.raises(IntegrityError), transaction.atomic():
        CheckChange.objects.create(code="sets", is_off=True, reason=reason, at=NOW)
    with pytest.raises(IntegrityError), transaction.atomic():
        StopReason.objects.create(
            session=landing, code="rest_days", sentence="No day off.", reason=reason, at=NOW
        )


@pytest.mark.parametrize("reason", ["I watched.", "Über die Matte", "Nur zu, 3 Kinder."])
def test_words_of_any_language_are_a_reason(head, reason):
    switch_off(head, "sets", reason=reason)
    assert CheckChange.objects.get().reason == reason


def test_nobody_confirms_its_own_word(cast):
    with pytest.raises(IntegrityError), transaction.atomic():
        CheckChange.objects.create(
            code="landing_first",
            is_off=True,
            reason="Placed on paper.",
            at=NOW,
            by=cast.head_coach,
            confirmed_by=cast.head_coach,
            confirmed_at=NOW,
        )
