"""Children from a file, between the database and `athletes.importing`: draft, preview, import."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from django.db import transaction

from athletes.changes import lock_cohorts, tell_of_many
from athletes.importing.columns import Columns, find_columns
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
    settle,
)
from athletes.importing.tables import Table
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


@dataclass(frozen=True)
class Preview:
    """Every row with its fate, in the file's order."""

    table: Table
    columns: Columns
    order: DayOrder
    rows: Sequence[RowFate]

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
    """What would become of each row now, in two queries however many there are."""
    table = Table.from_json(draft.table)
    columns = find_columns(table.headings)
    cohorts = list(Cohort.objects.visible_to(user))
    reader = Reader(columns, month_first, today, cohorts, draft.cohort)
    read = [reader.read(row) for row in table.rows]
    rows = settle(read, _known(read))
    return Preview(table, columns, day_order(table, columns), rows)


@dataclass(frozen=True)
class Imported:
    """How many children came of a draft; the invitations, each with its token, to be mailed."""

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
    drafts = ImportDraft.objects.select_for_update(of=("self",)).select_related("cohort")
    locked = drafts.get(pk=draft.pk)
    if locked.used_at:
        return Imported(locked.added)
    described = preview(locked, user, today, month_first=month_first).children
    invitations = _add(described, user, today)
    locked.used_at, locked.added, locked.table = now, len(described), {}
    locked.save(update_fields=["used_at", "added", "table"])
    return Imported(len(described), invitations)


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
    lock_cohorts({each.cohort for each in described})
    Enrolment.objects.bulk_create(
        Enrolment(child=child, cohort=each.cohort, start=today) for child, each in pairs
    )
    tell_of_many([child.pk for child in children], Circumstance.COHORT)
    guardians = ((child, email) for child, each in pairs for email in each.guardians)
    return Invitation.objects.invite_guardians(guardians, invited_by=by)


def _known(read: Iterable[RowFate]) -> set[Key]:
    """Children that are here already, whoever may see them: no two may be the same."""
    dates = {row.child.birth_date for row in read if row.child}
    rows = Child.objects.filter(birth_date__in=dates)
    return {key_of(*row) for row in rows.values_list("given_name", "family_initial", "birth_date")}
