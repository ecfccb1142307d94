"""What comes of a concern: the officers are told at once, and each step stands in it."""

import datetime as dt
from contextlib import nullcontext
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import F
from django.db.models.functions import Coalesce
from django.urls import reverse

from athletes.mailing import link_to, notice, origin_of, send_after_commit
from athletes.models import User
from library.shared.acting import acting_unnamed
from program.models import Concern, ConcernEntry, ConcernLook, WelfareOfficer

if TYPE_CHECKING:
    from library.shared.access import Request


def report(request: "Request", concern: Concern) -> None:
    """Within a transaction. Who left their name out may not read it afterwards."""
    with nullcontext() if concern.by_id else acting_unnamed():
        concern.save()
    _tell_officers(request, concern)


@transaction.atomic
def add(request: "Request", concern: Concern, text: str, now: dt.datetime) -> None:
    """By whoever reported it."""
    _enter(concern, ConcernEntry.Kind.ADDED, text, request.user, now)
    _tell_officers(request, concern)


def note(request: "Request", concern: Concern, text: str, now: dt.datetime) -> None:
    """By an officer, for officers."""
    _enter(concern, ConcernEntry.Kind.NOTE, text, request.user, now)


def _enter(concern: Concern, kind: str, text: str, by: User, now: dt.datetime) -> None:
    ConcernEntry.objects.create(concern=concern, kind=kind, text=text, by=by, at=now)


def see(concern: Concern, by: User, now: dt.datetime) -> None:
    """Whoever said so first stands there."""
    Concern.objects.filter(pk=concern.pk, seen_at__isnull=True).update(seen_at=now, seen_by=by)


def close(concern: Concern, by: User, now: dt.datetime) -> None:
    still_open = Concern.objects.filter(pk=concern.pk, closed_at__isnull=True)
    still_open.update(
        closed_at=now,
        closed_by=by,
        seen_at=Coalesce(F("seen_at"), now),
        seen_by=Coalesce(F("seen_by"), by.pk),
    )


def note_look(concern: Concern, by: User, now: dt.datetime) -> None:
    """The one row that a page writes; see the policy `whoever_looks_stands_in_the_log`."""
    ConcernLook.objects.create(concern=concern, by=by, at=now)


def _tell_officers(request: "Request", concern: Concern) -> None:
    """Whether they want mails or not. Nothing of what it is about: a phone shows its mails to
    whoever stands beside it."""
    but_for = {concern.kept_from_id, request.user.pk}
    context = {"link": link_to(request, reverse("program:concerns"))}
    officers = WelfareOfficer.objects.in_force().select_related("person")
    send_after_commit(
        [
            notice(
                origin_of(request),
                each.person,
                "Something to read",
                "program/welfare/mail/read.txt",
                context,
            )
            for each in officers
            if each.person_id not in but_for
        ]
    )
