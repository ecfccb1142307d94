"""Children from a file, between the database and `athletes.importing`: draft, preview, import."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from django.db import transaction

from athletes.changes import enrol, lock_cohorts, tell_of_many
from athletes.importing.columns import Column, Columns, find_columns
from athletes.importing.files import read_table
from athletes.importing.outcomes import (
    DayOrder,
    Fate,
    Key,
    NewChild,
    Reader,
    RowFate,
    day_order,
    key_of,
    may_be,
    settle,
)
from athletes.importing.tables import UTF_8, Row, Table
from athletes.models import Child, Cohort, Enrolment, ImportDraft, Invitation, User
from athletes.signals import Circumstance


def draft_of(content: bytes, cohort: Cohort | None, owner: User, now: dt.datetime) -> ImportDraft:
    """Read a file and keep what it says about children until its owner has looked at it.

    Raises Unreadable. Drafts that nobody came back to are removed on the way.
    """
    table = read_table(content)
    narrow = find_columns(table.headings).narrow(table)
    ImportDraft.objects.expired(now).delete()
    return ImportDraft.objects.create(owner=owner, table=narrow.to_json(), cohort=cohort)


@transaction.atomic
def ask(draft: ImportDraft, now: dt.datetime, today: dt.date, *, month_first: bool) -> int:
    """Leave those of the draft who would be added to a head coach; how many they are. What is wrong
    or here already is let go. Asked again, it stays as it was."""
    locked = ImportDraft.objects.select_for_update(of=("self",)).get(pk=draft.pk)
    if not locked.asked_at:
        seen = preview(locked, locked.owner, today, month_first=month_first)
        wanted = {row.number for row in seen.new}
        rows = tuple(row for row in seen.table.rows if row.number in wanted)
        locked.table = replace(seen.table, rows=rows).to_json()
        locked.asked_at, locked.month_first = now, month_first
        locked.save(update_fields=["table", "asked_at", "month_first"])
    return locked.count


def ask_for_one(child: NewChild, owner: User, now: dt.datetime) -> ImportDraft:
    """Leave one child to a head coach; once, however often it is asked for."""
    told = (child.given_name, child.family_initial, f"{child.birth_date:%Y-%m-%d}")
    cells = (*told, dict(Child.Sex.choices).get(child.sex, ""), child.cohort.name, "")
    table = Table(tuple(Column), (Row(2, cells),), UTF_8).to_json()
    asked = ImportDraft.objects.waiting(now).filter(owner=owner, table=table)
    return asked.first() or ImportDraft.objects.create(owner=owner, table=table, asked_at=now)


def forget(child: Child) -> None:
    """Take the rows that are or may be this child's out of every list that waits. The others stay;
    a list without any goes. In a transaction."""
    key = key_of(child.given_name, child.family_initial, child.birth_date)
    waiting = ImportDraft.objects.filter(used_at__isnull=True)
    for draft in waiting.select_for_update(of=("self",)):
        table = Table.from_json(draft.table)
        columns = find_columns(table.headings)
        others = tuple(row for row in table.rows if not may_be(row, columns, key))
        if not others:
            draft.delete()
        elif len(others) < len(table.rows):
            draft.table = replace(table, rows=others).to_json()
            draft.save(update_fields=["table"])


@dataclass(frozen=True)
class Preview:
    """Every row with its fate, in the file's order; and of those here, whom the owner does not see
    and asks for without knowing that they are."""

    table: Table
    columns: Columns
    order: DayOrder
    rows: Sequence[RowFate]
    joining: Sequence[tuple[Child, Cohort]] = ()

    @cached_property
    def new(self) -> list[RowFate]:
        return self._having(Fate.NEW)

    @cached_property
    def here(self) -> list[RowFate]:
        return self._having(Fate.HERE)

    @cached_property
    def wrong(self) -> list[RowFate]:
        return self._having(Fate.WRONG)

    @cached_property
    def children(self) -> list[NewChild]:
        return [row.child for row in self.new if row.child]

    @cached_property
    def invitations(self) -> int:
        return sum(len(child.guardians) for child in self.children)

    @cached_property
    def cohorts(self) -> list[tuple[Cohort, int]]:
        """The cohorts that grow, with by how many."""
        counts = Counter(child.cohort for child in self.children)
        return sorted(counts.items(), key=lambda pair: pair[0].name)

    @cached_property
    def uncommon_names(self) -> list[str]:
        """A few names whose letters show whether the file was decoded rightly."""
        names = (child.given_name for child in self.children)
        return [name for name in names if not name.isascii()][:5]

    def _having(self, fate: Fate) -> list[RowFate]:
        return [row for row in self.rows if row.fate is fate]


def preview(draft: ImportDraft, user: User, today: dt.date, *, month_first: bool) -> Preview:
    """What would become of each row now, as far as this person may know, in three queries however
    many there are."""
    table = Table.from_json(draft.table)
    columns = find_columns(table.headings)
    cohorts = list(Cohort.objects.visible_to(draft.owner))
    reader = Reader(columns, month_first, today, cohorts, draft.cohort)
    read = [reader.read(row) for row in table.rows]
    known = _known(read, user)
    rows = settle(read, known)
    return Preview(table, columns, day_order(table, columns), rows, _joining(rows, known, draft))


@dataclass(frozen=True)
class Imported:
    """How many children came into a cohort by a draft; the invitations, each with its token, to be
    mailed."""

    added: int
    invitations: Sequence[tuple[Invitation, str]] = ()


@transaction.atomic
def take_over(
    draft: ImportDraft, user: User, now: dt.datetime, today: dt.date, *, month_first: bool
) -> Imported:
    """Add the new children, once: asked again, it only says how many there were.

    All or nothing. The rows are judged anew, so what was added by somebody else since the preview
    is left alone; what is added at this very moment raises an IntegrityError.
    """
    drafts = ImportDraft.objects.select_for_update(of=("self",)).select_related("cohort", "owner")
    locked = drafts.get(pk=draft.pk)
    if locked.used_at:
        return Imported(locked.added)
    seen = preview(locked, user, today, month_first=month_first)
    described = seen.children
    lock_cohorts({cohort for cohort, _ in seen.cohorts} | {cohort for _, cohort in seen.joining})
    for child, cohort in sorted(seen.joining, key=lambda pair: pair[0].pk):
        enrol(child, cohort, today)
    invitations = _add(described, locked.owner, today)
    count = len(described) + len(seen.joining)
    locked.used_at, locked.added, locked.table = now, count, {}
    locked.save(update_fields=["used_at", "added", "table"])
    return Imported(count, invitations)


def _add(described: Sequence[NewChild], by: User, today: dt.date) -> list[tuple[Invitation, str]]:
    """A fixed number of statements however many children there are."""
    children = Child.objects.bulk_create(
        Child(
            given_name=each.given_name,
            family_initial=each.family_initial,
            birth_date=each.birth_date,
            sex=each.sex,
        )
        for each in described
    )
    pairs = list(zip(children, described, strict=True))
    Enrolment.objects.bulk_create(
        Enrolment(child=child, cohort=each.cohort, start=today) for child, each in pairs
    )
    tell_of_many([child.pk for child in children], Circumstance.COHORT)
    guardians = ((child, email) for child, each in pairs for email in each.guardians)
    return Invitation.objects.invite_guardians(guardians, invited_by=by)


def _known(read: Iterable[RowFate], user: User) -> dict[Key, Child]:
    """Children that are here already, as far as this person may know. Only who sees all of them may
    add any, since no two may be the same."""
    dates = {row.child.birth_date for row in read if row.child}
    children = Child.objects.visible_to(user).filter(birth_date__in=dates)
    return {
        key_of(each.given_name, each.family_initial, each.birth_date): each for each in children
    }


def _joining(
    rows: Iterable[RowFate], known: Mapping[Key, Child], draft: ImportDraft
) -> list[tuple[Child, Cohort]]:
    """Of what a coach asks for, the children who are here without that coach seeing them."""
    if not draft.asked_at:
        return []
    asked = [row.child for row in rows if row.fate is Fate.HERE and row.child]
    here = {known[each.key]: each.cohort for each in asked if each.key in known}
    seen = set(Child.objects.visible_to(draft.owner).filter(pk__in=[each.pk for each in here]))
    return [(child, cohort) for child, cohort in here.items() if child not in seen]
