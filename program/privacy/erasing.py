"""Erasing all that is held of a child: asked for, confirmed by a head coach, done by the worker.

What goes: every row that leads to the child, its photos and clips, the accounts that were there for
it alone, mails about it that have not left, and its key where a table that holds nothing else of
children keeps it. What stays is in `Erasure.counts`: how much there was, and of nobody.
"""

import datetime as dt
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.db.models import F, Func, Q, Value
from django.urls import reverse
from django.utils import timezone

from athletes.importing.drafts import forget
from athletes.mailing import notify, send_after_commit, written_mail
from athletes.models import Child, Guardianship, OutgoingMail, Role, User
from library.shared.task_queue import Queue, enqueue, lock_of, task
from program.common import stored_rows
from program.models import BoardChange, Erasure, StopReason
from program.privacy import erased_list
from program.privacy.child_data import counts_of
from program.privacy.erased_list import ErasedLine

if TYPE_CHECKING:
    from library.shared.access import Request


@transaction.atomic
def ask(child: Child, request: "Request", now: dt.datetime) -> Erasure:
    """Ask for it; asked for again while it is open, it is the same. Head coaches and the child's
    guardians are told, but for whoever asks."""
    by = request.user
    is_family = child.guardianships.filter(guardian=by).exists()
    why = Erasure.Why.ASKED if is_family else Erasure.Why.PROGRAM
    erasure, is_new = Erasure.objects.get_or_create(
        child=child,
        done_at__isnull=True,
        ended_at__isnull=True,
        defaults={"why": why, "asked_by": by, "asked_at": now},
    )
    if is_new:
        _tell(request, erasure, child, but_for=by)
    return erasure


def _tell(request: "Request", erasure: Erasure, child: Child, but_for: User) -> None:
    heads = User.objects.filter(role=Role.HEAD_COACH, is_active=True).exclude(pk=but_for.pk)
    decide = request.build_absolute_uri(reverse("program:erasure", args=[erasure.public_id]))
    notify(
        request,
        heads,
        "A decision is asked for",
        "program/privacy/mail/decide.txt",
        {"link": decide},
    )
    family = child.family_told().exclude(pk__in=[but_for.pk, *heads.values_list("pk", flat=True)])
    read = request.build_absolute_uri(reverse("program:child_data", args=[child.public_id]))
    notify(
        request,
        family,
        "About what Fledge holds",
        "program/privacy/mail/asked.txt",
        {"given_name": child.given_name, "link": read, "erasure": erasure},
    )


@transaction.atomic
def confirm(erasure: Erasure, by: User, now: dt.datetime) -> bool:
    """The second step, after which the worker erases; False where it is not open any more, or not
    this person's to confirm yet."""
    held = Erasure.objects.open().select_for_update(of=("self",)).filter(pk=erasure.pk).first()
    if held is None or held.child_id is None or not held.may_be_confirmed_by(by, now):
        return False
    held.confirmed_by, held.confirmed_at = by, now
    held.save(update_fields=["confirmed_by", "confirmed_at"])
    enqueue(erase, lock=lock_of(held.child_id), erasure=held.pk)
    return True


def end(erasure: Erasure, by: User, because: str, now: dt.datetime) -> bool:
    """Not to be erased after all; False where it is decided already."""
    ended = {"ended_by": by, "ended_at": now, "ended_because": because}
    return bool(Erasure.objects.open().filter(pk=erasure.pk).update(**ended))


@task("program.erase", Queue.CHANGES)
def erase(erasure: int) -> None:
    """Erase what was confirmed; done already, it is nothing."""
    with transaction.atomic():
        held = Erasure.objects.to_do().select_for_update(of=("self",)).filter(pk=erasure).first()
        if held is None:
            return
        child = Child.objects.select_for_update().filter(erasures=held.pk).first()
        counts = _erase_child(child) if child else {}
        held.refresh_from_db()
        held.done_at, held.counts = timezone.now(), counts
        held.save(update_fields=["done_at", "counts"])


def _erase_child(child: Child) -> dict[str, int]:
    """How many rows of what there were. In a transaction, with the child locked."""
    accounts = accounts_of(child)
    made = ((each.pk, each.created_at.isoformat()) for each in accounts)
    # Before the rows go: a kill in between erases them once more, and never brings them back.
    erased_list.add(ErasedLine(child.public_id, tuple(made)))
    counts = {held.name: count for held, count in counts_of(child)}
    farewells = [written_mail(each.email, *FAREWELL) for each in accounts if each.is_active]
    _delete(child, accounts)
    for each in accounts:
        each.delete()
    send_after_commit(farewells)
    return counts


def _delete(child: Child, accounts: list[User]) -> None:
    """All that leads to the child, and what no foreign key leads to."""
    _forget_elsewhere(child, accounts)
    child.delete()


FAREWELL = (
    "What Fledge held is erased",
    "Everything that Fledge held for your family is erased, and your account with it. Backups that "
    "were made before go with their time; if one had to be restored, the same is erased from it at "
    "once.\n",
)


def accounts_of(child: Child) -> list[User]:
    """Those that are there for this child alone: guardians of no other, and its own sign-in."""
    mine = User.objects.filter(Q(pk=child.user_id) | Q(guardianships__child=child))
    elsewhere = Guardianship.objects.exclude(child=child).values("guardian")
    family = mine.filter(role__in=[Role.GUARDIAN, Role.ATHLETE])
    return list(family.exclude(pk__in=elsewhere).distinct().order_by("pk"))


def _forget_elsewhere(child: Child, accounts: list[User]) -> None:
    """What no foreign key leads to."""
    StopReason.objects.filter(children__contains=[child.pk]).update(
        children=Func(F("children"), Value(child.pk), function="array_remove")
    )
    for change in BoardChange.objects.exclude(dropped="").select_for_update(of=("self",)):
        rows = [each.object for each in stored_rows.read(change.dropped)]
        others = [row for row in rows if getattr(row, "child_id", None) != child.pk]
        if len(others) < len(rows):
            change.dropped = stored_rows.as_text(others)
            change.save(update_fields=["dropped"])
    forget(child)
    about = Q(body__contains=str(child.public_id)) | Q(to__in=[each.email for each in accounts])
    OutgoingMail.objects.filter(about).delete()


def erase_again() -> int:
    """Erase whoever is on the list and here all the same, after a restore or a kill; how many
    children."""
    again = 0
    for line in erased_list.lines():
        with transaction.atomic():
            child = Child.objects.select_for_update().filter(public_id=line.child).first()
            if child:
                again += 1
                _delete(child, accounts_of(child))
            for key, made in line.accounts:
                _erase_account(key, made)
    return again


def _erase_account(key: int, made: str) -> None:
    """One that has come to another child since stays."""
    account = User.objects.filter(pk=key, created_at=made, guardianships__isnull=True).first()
    if account and not account.is_coach and not Child.objects.filter(user=account).exists():
        OutgoingMail.objects.filter(to=account.email).delete()
        account.delete()


def on_database_restored(**signal: Any) -> None:
    """Receiver of `database_restored`."""
    erase_again()
