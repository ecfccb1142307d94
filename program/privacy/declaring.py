"""How it is declared what Fledge holds of people: for each table why, for how long and who reads
it, and for each column how an export calls it or why none has it.

The export, erasing, the nightly clearing and the page on privacy all read these declarations; a
test fails for a column that has none.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from django.db.models import Model

from athletes.models import ConsentPurpose


class Purpose(StrEnum):
    TRAINING = "to plan sessions that fit"
    SAFETY = "so that nobody does what could hurt"
    TALK = "so that families and coaches can ask and answer"
    ACCOUNT = "to let in whoever may come in, and nobody else"
    RECORD = "to tell later who did what, and when"
    SERVING = "to do what was asked for, once"


class Readers(StrEnum):
    FAMILY_AND_COACHES = "the family, the coaches of the child’s cohorts and head coaches"
    GUARDIANS_AND_COACHES = "guardians, the coaches of the child’s cohorts and head coaches"
    GUARDIANS_AND_HEAD_COACHES = "guardians and head coaches"
    COACHES = "the coaches of the child’s cohorts and head coaches"
    ALL_COACHES = "every coach of the program"
    EVERYBODY = "everybody who is shown who did something"
    HEAD_COACHES = "head coaches"
    HEAD_COACHES_AND_ONESELF = "head coaches, and of an account whoever it belongs to"
    OFFICERS = "the welfare officers, and whoever reported it what they wrote; no coach otherwise"
    ONESELF = "only the person it is about"
    NOBODY = "nobody: Fledge itself uses it"


@dataclass(frozen=True)
class Kept:
    """For how long rows are kept. With `days`, the nightly clearing deletes those whose column
    `since` lies further back."""

    words: str
    days: int | None = None
    since: str = ""


WITH_CHILD = Kept("as long as the child, and as long after it has left as the program says")
RECORDS = Kept(
    "as many years as the program says, six if it says nothing, and no longer than the child or "
    "account it is about"
)
WITH_ACCOUNT = Kept("as long as the account")
WITH_PROGRAM = Kept("as long as the program keeps it")
UNTIL_SENT = Kept("until it has left, a few days at most")


@dataclass(frozen=True)
class Column:
    """`label` in an export, or `because` it is in none."""

    label: str = ""
    because: str = ""


def said(label: str) -> Column:
    return Column(label=label)


def left_out(because: str) -> Column:
    return Column(because=because)


KEY = left_out("a number that Fledge uses inside")
SECRET = left_out("a key that lets somebody in")
WHOLE = left_out("said in the columns beside it")


@dataclass(frozen=True)
class Held:
    """What one table holds of people. `child` is the way from a row to its child, in the words of
    Django's lookups; "" where rows are about an account. `upload` is the column that names a
    file. `agreed` is the purpose without which coaches see none of it, or no file."""

    model: type[Model]
    what: str
    why: Purpose
    readers: Readers
    kept: Kept
    columns: Mapping[str, Column]
    child: str = ""
    upload: str = ""
    agreed: ConsentPurpose | None = None

    @property
    def name(self) -> str:
        """How files and JSON call it."""
        return self.model._meta.model_name or ""

    @property
    def exported(self) -> dict[str, str]:
        """The columns of an export with their labels, in their order."""
        return {name: column.label for name, column in self.columns.items() if column.label}

    def of_child(self, child: Model) -> Any:
        """The rows about one child, the oldest first. Only where `child` is said."""
        rows = self.model._default_manager.filter(**{self.child: child.pk})
        return rows.order_by("pk")


@dataclass(frozen=True)
class Nobodys:
    """A table that holds nothing of a child. `by` are the columns that say which account did
    something; `names_children` those that hold keys or names of children all the same, and which
    erasing therefore reaches."""

    model: type[Model]
    what: str
    by: tuple[str, ...] = ()
    names_children: tuple[str, ...] = ()
    kept: Kept = WITH_PROGRAM
