"""Whether the database and this code are of one age."""

from dataclasses import dataclass
from functools import cache

from django.db import ProgrammingError, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

type Name = tuple[str, str]
"""An app's label and a migration's name."""


@dataclass(frozen=True)
class _Known:
    """The migrations in this code, each with those that it stands for."""

    replaces: dict[Name, frozenset[Name]]

    @property
    def stood_for(self) -> frozenset[Name]:
        return frozenset().union(*self.replaces.values())

    def unapplied(self, applied: frozenset[Name]) -> list[Name]:
        done = set(applied)
        for squashed, names in self.replaces.items():
            if names and (squashed in applied or names <= applied):
                done |= {squashed, *names}
        return sorted(self.replaces.keys() - done)

    def unknown(self, applied: frozenset[Name]) -> list[Name]:
        """Of apps that are installed: what an app that is gone has left does no harm."""
        apps = {app for app, _ in self.replaces}
        known = self.replaces.keys() | self.stood_for
        return sorted(name for name in applied - known if name[0] in apps)


@cache
def _known() -> _Known:
    """Read from the files once: they do not change under a running process."""
    there = MigrationLoader(None).disk_migrations
    return _Known({name: frozenset(each.replaces) for name, each in there.items()})


@dataclass(frozen=True)
class Ages:
    """`unapplied`: the database is older than the code; `unknown`: the code is older."""

    unapplied: list[Name]
    unknown: list[Name]


def ages() -> Ages:
    """Asks the database one question."""
    try:
        rows = MigrationRecorder(connection).migration_qs.values_list("app", "name")
        applied = frozenset(rows)
    except ProgrammingError:  # nothing was ever migrated there
        applied = frozenset()
    return Ages(_known().unapplied(applied), _known().unknown(applied))
