import datetime as dt

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone

from program.common.nightly import let_go
from program.models import IdempotencyKey


@pytest.mark.django_db
def test_what_has_run_out_is_let_go_at_night_and_nothing_else():
    now = timezone.now()
    for hours in (-1, 1):
        Session.objects.create(
            session_key=f"key{hours}", expire_date=now + dt.timedelta(hours=hours)
        )
        IdempotencyKey.objects.create(
            digest=f"{hours}", created_at=now - dt.timedelta(hours=24 - hours)
        )
    let_go(0)
    assert [each.session_key for each in Session.objects.all()] == ["key1"]
    assert [each.digest for each in IdempotencyKey.objects.all()] == ["1"]
