"""A program's own word on the checks: who, when, why, and that it counts."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from program.checks.settings import ChangeRefused, change_check, setting_of
from program.engine.checks import RULES, Limit, Setting
from program.models import CheckChange

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 11, 23, 9, tzinfo=dt.UTC)
OFF = Setting(is_off=True)


@pytest.fixture
def head(cast, client_for):
    return client_for(cast.head_coach)


def settings_of_program() -> dict[str, Setting]:
    return {each.code: setting_of(each) for each in CheckChange.objects.standing()}


def send(client, code, **said):
    return client.post(reverse("program:check", args=[code]), said, follow=True)


def test_a_moved_limit_is_kept_with_who_when_and_why(cast, head):
    html = send(head, "sets", most="4", reason="Four short rounds suit us.").content.decode()
    change = CheckChange.objects.get()
    assert (change.code, change.most, change.by) == ("sets", 4, cast.head_coach)
    assert abs(change.at - timezone.now()) < dt.timedelta(minutes=1)
    assert settings_of_program() == {"sets": Setting(limit=Limit(None, 4))}
    for words in ("At most 4", "Four short rounds suit us.", "Head Coach"):
        assert words in html


def test_a_coach_sees_the_reasons_and_changes_nothing(cast, client_for):
    change_check(RULES["sets"], OFF, "Circuits only.", cast.head_coach, NOW)
    coach = client_for(cast.coach)
    html = coach.get(reverse("program:checks")).content.decode()
    assert "Circuits only." in html
    assert "Back to usual" not in html
    assert send(coach, "sets", is_off="on", reason="I wish so.").status_code == 404
    assert coach.post(reverse("program:check_back", args=["sets"])).status_code == 404
    assert CheckChange.objects.standing().get().reason == "Circuits only."


@pytest.mark.parametrize("reason", ["", "   ", "\n\t"])
def test_without_a_reason_nothing_is_changed(head, reason):
    answer = send(head, "sets", most="4", reason=reason)
    assert answer.status_code == 422
    assert "Write the reason; it is kept and shown." in answer.content.decode()
    assert not CheckChange.objects.exists()


def test_a_reason_longer_than_can_be_kept_is_refused_and_not_lost(head):
    answer = send(head, "sets", most="4", reason="x" * 301)
    assert answer.status_code == 422
    assert "x" * 301 in answer.content.decode()
    assert not CheckChange.objects.exists()


@pytest.mark.parametrize("most", ["0", "-1", "11", "99999999999", "four", "3.5"])
def test_a_limit_of_nonsense_is_refused_with_what_makes_sense(head, most):
    answer = send(head, "sets", most=most, reason="We say so.")
    assert answer.status_code == 422
    assert "Choose between 1 and 10 sets." in answer.content.decode()
    assert not CheckChange.objects.exists()


def test_a_limit_left_empty_is_refused(head):
    html = send(head, "sets", most="", reason="We say so.").content.decode()
    assert "Write a number: at most 3 sets is usual." in html


def test_a_range_upside_down_is_refused(head):
    html = send(head, "warm_up_length", least="9", most="6", reason="We say so.").content.decode()
    assert "The least cannot be more than the most." in html
    assert not CheckChange.objects.exists()


def test_the_usual_limit_is_no_change(head):
    html = send(head, "sets", most="3", reason="We say so.").content.decode()
    assert "This is the usual limit: nothing would change." in html


def test_a_check_without_a_number_can_only_be_switched_off(head):
    html = send(head, "warm_up", reason="We say so.").content.decode()
    assert "This check has no number: it can only be switched off." in html
    send(head, "warm_up", is_off="on", reason="We play tag first.")
    assert settings_of_program() == {"warm_up": OFF}


def test_switching_off_twice_changes_nothing_and_says_so(cast, head):
    send(head, "sets", is_off="on", reason="Circuits only.")
    answer = send(head, "sets", is_off="on", reason="Once again.")
    assert "It is so already: off, and the reason given then stands." in answer.content.decode()
    assert [each.reason for each in CheckChange.objects.all()] == ["Circuits only."]


def test_a_new_word_ends_the_old_one_and_both_are_kept(cast, head):
    send(head, "sets", is_off="on", reason="Circuits only.")
    html = send(head, "sets", most="5", reason="Five at camp.").content.decode()
    standing = CheckChange.objects.standing().get()
    earlier = CheckChange.objects.exclude(pk=standing.pk).get()
    assert (standing.reason, standing.is_off) == ("Five at camp.", False)
    assert (earlier.reason, earlier.ended_by) == ("Circuits only.", cast.head_coach)
    assert "Circuits only." in html


def test_back_to_usual_keeps_what_was(head):
    send(head, "sets", is_off="on", reason="Circuits only.")
    back = reverse("program:check_back", args=["sets"])
    assert "as usual again" in head.post(back, follow=True).content.decode()
    assert settings_of_program() == {}
    assert CheckChange.objects.get().ended_at is not None
    assert "was as usual already" in head.post(back, follow=True).content.decode()


def test_a_check_that_does_not_exist_is_not_found(head):
    assert send(head, "no-such-check", is_off="on", reason="We say so.").status_code == 404


def test_who_comes_second_at_the_same_moment_is_told(cast, monkeypatch):
    def gone_by(*_: object) -> None:
        """Between the look and the write somebody else writes."""
        CheckChange.objects.create(code="sets", is_off=True, reason="First.", at=NOW)

    monkeypatch.setattr("program.checks.settings._refuse_the_same", gone_by)
    monkeypatch.setattr("program.models.CheckChangeQuerySet.end", lambda *_: 0)
    with pytest.raises(ChangeRefused, match="Somebody else changed this check just now"):
        change_check(RULES["sets"], OFF, "Second.", cast.head_coach, NOW)


@pytest.mark.parametrize(
    "row",
    [
        {"most": 4, "reason": " "},
        {"reason": "Neither off nor a limit."},
        {"is_off": True, "most": 4, "reason": "Both."},
        {"least": 5, "most": 4, "reason": "Upside down."},
        {"most": 4, "reason": "Over before.", "ended_at": NOW - dt.timedelta(days=1)},
    ],
)
def test_the_database_refuses_what_makes_no_sense(row):
    with pytest.raises(IntegrityError), transaction.atomic():
        CheckChange.objects.create(code="sets", at=NOW, **row)
