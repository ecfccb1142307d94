"""What each child of a cohort will really do in a session, added up after fitting."""

from collections.abc import Sequence
from dataclasses import dataclass

from athletes.models import Child, User
from program.common.session_plan import plan_of, volume_slot
from program.common.volume_tables import MEASURES, Balance, Row, balances, figures
from program.engine.fit.fitting import Fitted, Outcome
from program.engine.fit.limits import HardLimits
from program.engine.volume import Volume, volume
from program.fit.fitting import FittedSession, fit
from program.fit.who_gets_what import SameDay, same_day_of
from program.models import Session


@dataclass(frozen=True)
class ChildVolume:
    """A child's work; `ceiling` is its ground-contact ceiling that day, `same_day` what its other
    sessions of the day hold of it, `sets_apart` how many sets more than written, `waiting` the
    slots for which the coach has yet to decide."""

    child: Child
    volume: Volume
    ceiling: int
    sets_apart: int
    waiting: int
    same_day: SameDay | None = None

    @property
    def figures(self) -> tuple[str, ...]:
        return figures(self.volume.total)

    @property
    def balances(self) -> tuple[Balance, ...]:
        return balances(self.volume)

    @property
    def sets_fewer(self) -> int:
        return -self.sets_apart

    @property
    def contacts(self) -> int:
        return round(self.volume.total.ground_contacts)

    @property
    def contacts_percent(self) -> float:
        """Of the day's ceiling, at most 100: fit never goes over it."""
        return round(100 * self.contacts / self.ceiling, 2) if self.ceiling else 0.0


@dataclass(frozen=True)
class ChildVolumes:
    """The written session, and each child's, in the children's order."""

    session: Session
    written: Volume
    children: tuple[ChildVolume, ...]

    @property
    def measures(self) -> tuple[str, ...]:
        return tuple(name for name, _ in MEASURES)

    @property
    def written_row(self) -> Row:
        return Row("as written", figures(self.written.total))

    @property
    def written_contacts(self) -> int:
        return round(self.written.total.ground_contacts)

    @property
    def written_balances(self) -> tuple[Balance, ...]:
        return balances(self.written)


def child_volumes(session: Session, children: Sequence[Child], user: User) -> ChildVolumes:
    """`session` is fetched `with_slots()` or `with_plan()`. Other cohorts are named as far as they
    are the user's."""
    fitted = fit(session, children)
    written = plan_of(session).volume
    beside = {each.child.pk: each for each in same_day_of(fitted, children, user)}
    rows = (_of(child, fitted, written, beside.get(child.pk)) for child in children)
    return ChildVolumes(session, written, tuple(rows))


def _of(
    child: Child, fitted: FittedSession, written: Volume, same_day: SameDay | None
) -> ChildVolume:
    given = fitted.by_child[child.pk]
    gets = volume_of(given, fitted)
    return ChildVolume(
        child=child,
        volume=gets,
        ceiling=HardLimits(fitted.circumstances[child.pk]).contact_ceiling,
        sets_apart=gets.total.sets - written.total.sets,
        waiting=sum(each.outcome is Outcome.COACH_DECIDES for each in given),
        same_day=same_day,
    )


def volume_of(given: Sequence[Fitted], fitted: FittedSession) -> Volume:
    """The work of one child's slots, in the session's order."""
    return volume(
        volume_slot(
            fitted.library.revisions[each.given.exercise], each.given.dose, slot.part.rounds
        )
        for each, slot in zip(given, fitted.slots, strict=True)
        if each.given
    )
