"""What is kept for a time and then let go."""

import datetime as dt
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from athletes.models import (
    AccessRules,
    Child,
    HealthView,
    Invitation,
    RecordedChange,
    Role,
    SignIn,
    User,
)
from athletes.session_store import SessionStore
from library.shared.acting import acting_as
from program.models import BoardChange, ChildCopy, Erasure, IdempotencyKey
from program.privacy.retention import (
    children_whose_time_is_over,
    let_go,
    let_go_of_records,
    over,
)
from tests.support.factories import BlockFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def list_beside_backups(settings, tmp_path):
    settings.BACKUPS_DIR = tmp_path / "backups"


@pytest.fixture(autouse=True)
def uploads_of_nobody_else(settings, tmp_path):
    """The night lets go of files that no row wants, and rows of other tests are not here."""
    storage = {"BACKEND": "django.core.files.storage.FileSystemStorage"}
    here = storage | {"OPTIONS": {"location": tmp_path / "uploads"}}
    settings.STORAGES = settings.STORAGES | {"uploads": here}


NOW = dt.datetime(2026, 11, 4, 4, 7, tzinfo=dt.UTC)
TODAY = NOW.date()


def years_ago(years, days=0):
    return TODAY.replace(year=TODAY.year - years) - dt.timedelta(days=days)


def test_what_was_said_of_sport_elsewhere_goes_after_a_year_and_a_week_after_half_of_one(cast):
    this_monday, child = dt.date(2026, 11, 2), cast.child
    for weeks in (53, 1):
        since = this_monday - dt.timedelta(weeks=weeks)
        child.sport_elsewhere.create(since=since, hours=0, said_at=NOW)
    for weeks in (27, 1):
        week = this_monday - dt.timedelta(weeks=weeks)
        child.different_weeks.create(week=week, how="less", said_at=NOW)
    let_go(NOW)
    last_week = this_monday - dt.timedelta(weeks=1)
    assert [each.since for each in child.sport_elsewhere.all()] == [last_week]
    assert [each.week for each in child.different_weeks.all()] == [last_week]


def gone_since(child, day):
    child.enrolments.update(start=day - dt.timedelta(days=30), end=day)
    long_ago = timezone.make_aware(dt.datetime.combine(day, dt.time())) - dt.timedelta(days=60)
    Child.objects.filter(pk=child.pk).update(created_at=long_ago)


@pytest.mark.parametrize(
    ("last_day", "is_over"),
    [(years_ago(3), False), (years_ago(3, days=1), True), (years_ago(2), False)],
)
def test_a_childs_time_is_over_three_years_after_its_last_day(cast, last_day, is_over):
    gone_since(cast.child, last_day)
    assert (cast.child in children_whose_time_is_over(TODAY)) is is_over
    assert cast.other_child not in children_whose_time_is_over(TODAY)


def test_the_program_says_how_many_years(cast):
    gone_since(cast.child, years_ago(2))
    AccessRules.objects.change(cast.head_coach, NOW, kept_years=1)
    assert list(children_whose_time_is_over(TODAY)) == [cast.child]


def test_head_coaches_are_told_and_after_thirty_days_it_is_erased(cast, mailoutbox):
    gone_since(cast.child, years_ago(4))
    let_go(NOW)
    assert Erasure.objects.get().why == "time"
    assert Child.objects.filter(pk=cast.child.pk).exists()
    let_go(NOW + dt.timedelta(days=29))
    assert Erasure.objects.open().count() == 1, "asked about once"
    let_go(NOW + dt.timedelta(days=30))
    erasure = Erasure.objects.get()
    assert erasure.confirmed_at
    from program.privacy.erasing import erase

    erase.func(erasure.pk)
    assert not Child.objects.filter(pk=cast.child.pk).exists()


def test_whom_a_head_coach_keeps_is_asked_about_a_year_later(cast):
    gone_since(cast.child, years_ago(4))
    let_go(NOW)
    Erasure.objects.update(ended_at=NOW, ended_by=cast.head_coach, ended_because="By law.")
    assert not children_whose_time_is_over(TODAY + dt.timedelta(days=364)).exists()
    assert children_whose_time_is_over(TODAY + dt.timedelta(days=367)).exists()


def test_what_is_declared_for_some_days_goes_on_the_night_after(cast):
    block = BlockFactory(cohort=cast.cohort)
    day = dt.timedelta(days=1)
    for ago in (364 * day, 366 * day):
        BoardChange.objects.create(block=block, sentence="Moved.", at=NOW - ago)
    for email, ago in (("a@example.org", 366), ("b@example.org", 364)):
        invited, _ = Invitation.objects.invite(email, "coach", invited_by=cast.head_coach)
        Invitation.objects.filter(pk=invited.pk).update(
            created_at=NOW - 400 * day,
            expires_at=NOW - ago * day,
            used_at=NOW - 380 * day,
            agreed_at=NOW - 390 * day,
        )
    ChildCopy.objects.create(
        child=cast.child, asked_by=cast.guardian, asked_at=NOW, ready_at=NOW - 8 * day
    )
    let_go(NOW)
    assert [each.at for each in BoardChange.objects.all()] == [NOW - 364 * day]
    assert [each.email for each in Invitation.objects.all()] == ["b@example.org"], "who came in"
    assert not ChildCopy.objects.exists()


def recorded(cast, days):
    """What was recorded of a child and who looked at it, that many days over six years ago, or
    before."""
    at = timezone.now().replace(year=timezone.now().year - 6, day=15) - dt.timedelta(days=days)
    about = {"child": cast.child, "at": at}
    RecordedChange.objects.create(table="athletes_enrolment", row=1, what="added", **about)
    HealthView.objects.create(person=cast.coach, kind="child", **about)
    return at


def records():
    return {*RecordedChange.objects.values_list("at", flat=True)} & {
        *HealthView.objects.values_list("at", flat=True)
    }


def test_what_was_recorded_goes_after_six_years_and_by_the_night_alone(cast):
    old, younger = recorded(cast, 60), recorded(cast, -60)
    for model in (RecordedChange, HealthView):
        with transaction.atomic():
            model.objects.filter(at=younger).delete()
            with pytest.raises(DatabaseError, match="never changed"):
                connection.check_constraints()
            transaction.set_rollback(True)
    said = StringIO()
    call_command("retention", stdout=said)
    assert "1  what was recorded of changes" in said.getvalue()
    assert "1  who looked at what of a child’s health" in said.getvalue()
    assert records() == {old, younger}
    let_go(timezone.now())
    connection.check_constraints()
    assert records() == {younger}


def test_the_program_says_for_how_many_years_what_was_recorded_is_kept(cast):
    recorded(cast, -60)
    AccessRules.objects.change(cast.head_coach, NOW, records_years=5)
    let_go(timezone.now())
    assert records() == set()


def test_a_page_lets_go_of_nothing_that_was_recorded(cast):
    old = recorded(cast, 60)
    with acting_as(cast.coach.pk):
        let_go_of_records()
    assert records() == {old}


def test_a_familys_account_that_no_child_needs_goes_after_ninety_days_and_a_coachs_stays(cast):
    old = NOW - dt.timedelta(days=91)
    alone, coach = UserFactory(name="Alone"), UserFactory(name="Left Coach", role="coach")
    new = UserFactory(name="New")
    User.objects.filter(pk__in=[alone.pk, coach.pk, cast.guardian.pk, cast.athlete.pk]).update(
        created_at=old
    )
    let_go(NOW)
    left = set(User.objects.values_list("pk", flat=True))
    assert alone.pk not in left
    assert {coach.pk, new.pk, cast.guardian.pk, cast.athlete.pk} <= left


def test_the_command_says_what_would_go_and_changes_nothing(cast):
    gone_since(cast.child, timezone.localdate() - dt.timedelta(days=2000))
    said = StringIO()
    call_command("retention", stdout=said)
    assert "1  children to be asked about" in said.getvalue()
    assert "Nothing was changed." in said.getvalue()
    assert not Erasure.objects.exists()
    call_command("retention", "--now", stdout=StringIO())
    assert Erasure.objects.count() == 1


def test_everything_with_an_end_is_among_what_the_night_looks_at():
    assert len(over(NOW)) >= 6


def test_what_has_run_out_is_let_go_at_night_and_nothing_else(cast):
    now = timezone.now()
    for hours in (-1, 1):
        SessionStore().create()
        SignIn.objects.filter(device="").update(
            expires_at=now + dt.timedelta(hours=hours), device=f"{hours}"
        )
        invited, _ = Invitation.objects.invite(f"{hours}@x.example", Role.COACH, cast.head_coach)
        Invitation.objects.filter(pk=invited.pk).update(
            created_at=now - dt.timedelta(days=7), expires_at=now + dt.timedelta(hours=hours)
        )
        IdempotencyKey.objects.create(
            digest=f"{hours}", created_at=now - dt.timedelta(hours=24 - hours)
        )
    let_go(now)
    assert [each.device for each in SignIn.objects.all()] == ["1"]
    assert [each.email for each in Invitation.objects.all()] == ["1@x.example"]
    assert [each.digest for each in IdempotencyKey.objects.all()] == ["1"]
