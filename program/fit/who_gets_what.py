"""Who gets what: a fitted session as a coach reads it, by slot, by child, and cell by cell."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from athletes.models import Child, Cohort, User
from library.landing import ContactClass
from program.common.lanes import FitBar, FitKind, fit_bar
from program.engine.dose.dose import in_words
from program.engine.fit.fitting import Fitted, Outcome
from program.engine.fit.limits import HardLimits
from program.engine.fit.reasons import ABOUT_HEALTH, HOLD_BACK, Reason, for_coach
from program.engine.wording import groups_in_words, listed
from program.fit.choosing import CoachsWords
from program.fit.fitting import FittedSession
from program.models import Override, Place, Session, Slot, StandingDecision

KIND_OF: Final[dict[Outcome, FitKind]] = {
    Outcome.AS_WRITTEN: "as_written",
    Outcome.EASIER: "easier",
    Outcome.HARDER: "harder",
    Outcome.OTHER: "other",
    Outcome.COACH_CHOICE: "other",
    Outcome.LEFT_OUT: "left_out",
    Outcome.COACH_DECIDES: "undecided",
}
WORDS: Final[dict[Outcome, str]] = {
    Outcome.AS_WRITTEN: "as written",
    Outcome.EASIER: "easier",
    Outcome.HARDER: "harder",
    Outcome.OTHER: "another",
    Outcome.COACH_CHOICE: "your choice",
    Outcome.LEFT_OUT: "left out",
    Outcome.COACH_DECIDES: "choose",
}


@dataclass(frozen=True)
class Cell:
    """What one child gets in one slot, in words. `reasons` are fit's own. `decided` is what the
    coach decided for all sessions, and `here` what for this one alone, where it comes of that."""

    child: Child
    slot: Slot
    outcome: Outcome
    exercise: str
    dose: str
    reasons: tuple[Reason, ...]
    decided: StandingDecision | None = None
    here: Override | None = None
    asks_more: tuple[str, ...] = ()

    @property
    def why(self) -> tuple[str, ...]:
        """Each once, though several exercises may have been refused for the same reason; then what
        it asks more."""
        return (*dict.fromkeys(for_coach(reason) for reason in self.reasons), *self.asks_more)

    @property
    def in_short(self) -> str:
        """The decisive reason, and what it asks more."""
        return "; ".join((self.why[0], *self.asks_more))

    @property
    def because(self) -> str:
        """Why, in a few words: how long it was decided for, or what is in the way."""
        return self.decided.in_words if self.decided else self.why[0]

    @property
    def tells_of_health(self) -> bool:
        return any(reason.code in ABOUT_HEALTH for reason in self.reasons)

    @property
    def kind(self) -> FitKind:
        return KIND_OF[self.outcome]

    @property
    def word(self) -> str:
        return WORDS[self.outcome]

    @property
    def is_as_written(self) -> bool:
        return self.outcome is Outcome.AS_WRITTEN

    @property
    def needs_coach(self) -> bool:
        return self.outcome is Outcome.COACH_DECIDES

    @property
    def is_held_back(self) -> bool:
        """Nothing is to be chosen here: the child does nothing at all for now."""
        return any(reason.code in HOLD_BACK for reason in self.reasons)

    @property
    def is_open(self) -> bool:
        """Waits for the coach's choice."""
        return self.needs_coach and not self.is_held_back


@dataclass(frozen=True)
class Row:
    """What one child gets; `is_sent`, whether publishing sends it."""

    child: Child
    cells: tuple[Cell, ...]
    is_sent: bool

    @property
    def is_as_written(self) -> bool:
        return all(cell.is_as_written for cell in self.cells)

    @property
    def needs_coach(self) -> bool:
        return any(cell.needs_coach for cell in self.cells)

    @property
    def held_back(self) -> str:
        """Why the child does nothing at all for now, in words; empty where it does."""
        first = self.cells[0] if self.cells else None
        return first.why[0] if first and first.is_held_back else ""


@dataclass(frozen=True)
class Column:
    """One slot over all children."""

    slot: Slot
    cells: tuple[Cell, ...]

    @property
    def bar(self) -> FitBar:
        return fit_bar(Counter(cell.kind for cell in self.cells))

    @property
    def different(self) -> list[Cell]:
        """Those who get something else, whoever needs the coach first."""
        return sorted(
            (cell for cell in self.cells if not cell.is_as_written),
            key=lambda cell: not cell.needs_coach,
        )


@dataclass(frozen=True)
class SameDay:
    """What a child lands in its other sessions of the day, in whatever cohort; `left` of `ceiling`
    is for this one."""

    child: Child
    contacts: int
    groups: str
    left: int
    ceiling: int


@dataclass(frozen=True)
class WhoGetsWhat:
    """Children by slots. Rows are in the children's order, columns in the session's."""

    session: Session
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    same_day: tuple[SameDay, ...] = ()

    @property
    def told_of(self) -> list[Child]:
        """Those of whom it says what is spared, held back or grows."""
        return [row.child for row in self.rows if any(cell.tells_of_health for cell in row.cells)]

    @property
    def different_rows(self) -> list[Row]:
        return [row for row in self.rows if not row.is_as_written]

    @property
    def asked_more(self) -> list[Row]:
        """Whoever gets something that asks more than what is written in its place."""
        return [row for row in self.rows if any(cell.asks_more for cell in row.cells)]

    @property
    def waiting(self) -> int:
        """Children to whom the session cannot go out before the coach decides."""
        return sum(row.needs_coach and not row.is_sent for row in self.rows)

    @property
    def reached(self) -> int:
        """How many children publishing sends it to."""
        return sum(row.is_sent for row in self.rows)

    @property
    def reaches(self) -> str:
        """The same in words: "11 of 13", or "13" where it is everybody."""
        everybody = len(self.rows)
        return str(everybody) if self.reached == everybody else f"{self.reached} of {everybody}"

    @property
    def held_back(self) -> list[Row]:
        return [row for row in self.rows if row.held_back]

    @property
    def open_cells(self) -> list[Cell]:
        """What the coach has to choose, child by child."""
        return [cell for row in self.rows for cell in row.cells if cell.is_open]

    @property
    def decided(self) -> list[Cell]:
        """What was decided before, for all sessions."""
        return [cell for row in self.rows for cell in row.cells if cell.decided]


def who_gets_what(
    fitted: FittedSession, words: CoachsWords, children: Sequence[Child], user: User
) -> WhoGetsWhat:
    """Other cohorts are named as far as they are the user's."""
    rows = tuple(
        Row(child, _cells(fitted, words, child), fitted.goes_out_to(child)) for child in children
    )
    columns = tuple(
        Column(slot, tuple(row.cells[place] for row in rows))
        for place, slot in enumerate(fitted.slots)
    )
    return WhoGetsWhat(fitted.session, columns, rows, same_day_of(fitted, children, user))


def same_day_of(
    fitted: FittedSession, children: Sequence[Child], user: User
) -> tuple[SameDay, ...]:
    """Of those who land elsewhere that day; in one query, and in none where nobody does."""
    known = fitted.circumstances
    landing = [child for child in children if known[child.pk].contacts_elsewhere]
    keys = {key for child in landing for key in known[child.pk].elsewhere}
    seen = Cohort.objects.visible_to(user).filter(pk__in=keys) if keys else []
    names = {str(cohort.pk): str(cohort) for cohort in seen}
    own = str(fitted.session.block.cohort_id)
    found = []
    for child in landing:
        limits = HardLimits(known[child.pk])
        found.append(
            SameDay(
                child,
                round(known[child.pk].contacts_elsewhere),
                _groups(known[child.pk].elsewhere, own, names),
                int(limits.contacts_left),
                limits.contact_ceiling,
            )
        )
    return tuple(found)


def _groups(
    elsewhere: Mapping[str, Mapping[ContactClass, float]], own: str, names: Mapping[str, str]
) -> str:
    """ "with Gymnasts", "in another session of this group and with another group"."""
    keys = [key for key, contacts in elsewhere.items() if any(contacts.values())]
    where = ["in another session of this group"] if own in keys else []
    others = [key for key in keys if key != own]
    return listed([*where, *([f"with {groups_in_words(others, names)}"] if others else [])])


def children_of(session: Session) -> list[Child]:
    """Whoever is enrolled in the session's cohort on its day, in the order of names."""
    return list(Child.objects.enrolled_in(session.block.cohort, session.date))


def _cells(fitted: FittedSession, words: CoachsWords, child: Child) -> tuple[Cell, ...]:
    is_alone = fitted.session.place == Place.HOME
    return tuple(
        _cell(child, slot, each, fitted, words, more.in_words(is_alone=is_alone) if more else ())
        for slot, each, more in zip(
            fitted.slots, fitted.by_child[child.pk], fitted.asks_more[child.pk], strict=True
        )
    )


def _cell(
    child: Child,
    slot: Slot,
    each: Fitted,
    fitted: FittedSession,
    words: CoachsWords,
    asks_more: tuple[str, ...],
) -> Cell:
    names, place = fitted.library.fit.names, (slot.pk, child.pk)
    return Cell(
        child,
        slot,
        each.outcome,
        names[each.given.exercise] if each.given else "",
        in_words(each.given.dose) if each.given else "",
        each.reasons,
        words.everywhere.get(place),
        words.here.get(place),
        asks_more,
    )
