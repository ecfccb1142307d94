import datetime as dt

import pytest
from django.utils import timezone

from athletes.models import Invitation, Role, SignIn
from athletes.session_store import SessionStore
from program.common.nightly import let_go
from program.models import IdempotencyKey


@pytest.mark.django_db
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
    let_go(0)
    assert [each.device for each in SignIn.objects.all()] == ["1"]
    assert [each.email for each in Invitation.objects.all()] == ["1@x.example"]
    assert [each.digest for each in IdempotencyKey.objects.all()] == ["1"]
