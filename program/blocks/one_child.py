"""What one child will really get over a block, week by week, beside what is written for everybody.

What the child has already counts as it was sent; what is still to be published counts as fit would
choose it today.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import F

from athletes.models import Child, Enrolment
from program.blocks.deviations import Deviation, Sent
from program.blocks.queries import sessions_of
from program.checks.childrens_work import slots_of
from program.common.session_plan import WORKED, plan_of
from program.common.volume_tables import BesideSheet, beside_sheet
from program.engine.prescription import PRESCRIBED
from program.engine.volume import Volume, by_week, volume
from program.engine.wording import plural
from program.fit.child_volumes import volume_of
from program.fit.fitting import fit_over
from program.models import AssignedSlot, Block, Session

if TYPE_CHECKING:
    from athletes.models import User


@dataclass(frozen=True)
class ChildBlock:
    """`sent` sessions the child has, `chosen` ones that fit would choose today, and how far all of
    them stray from what is written."""

    sheet: BesideSheet
    sent: int
    chosen: int
    deviation: Deviation

    @property
    def is_written(self) -> bool:
        return bool(self.sheet.lanes)

    @property
    def is_in_it(self) -> bool:
        return bool(self.sent or self.chosen)

    @property
    def counted(self) -> list[str]:
        """Which sessions are added up on the child's side."""
        sent = f"{plural(self.sent, 'session')} as {'it was' if self.sent == 1 else 'they were'}"
        them = "it" if self.chosen == 1 else "them"
        told = [
            (self.sent, f"{sent} published"),
            (self.chosen, f"{self.chosen} still to be published, as fit would choose {them} today"),
        ]
        return [words for count, words in told if count]


def child_block(user: "User", block: Block, enrolments: Sequence[Enrolment]) -> ChildBlock:
    """`enrolments` are one child's in the block's cohort, at least one; all of it visible to the
    person."""
    child, sessions = enrolments[0].child, sessions_of(block)
    sent, deviation = _sent(user, block, child), Deviation(child)
    chosen = [
        each
        for each in sessions
        if each.pk not in sent and any(span.is_in_force(each.date) for span in enrolments)
    ]
    gets = {session: volume(slots_of(rows)) for session, rows in sent.items()}
    for session in sessions:
        if session.pk in sent:
            deviation.add_sent(_outcomes(sent[session.pk]), len(session.all_slots()))
    for session, fitted in zip(chosen, fit_over(chosen, [child]), strict=True):
        given = fitted.by_child[child.pk]
        gets[session.pk] = volume_of(given, fitted)
        deviation.add_fitted(given)
    written = {session.pk: plan_of(session).volume for session in sessions}
    return ChildBlock(
        beside_sheet(_by_week(block, sessions, gets), _by_week(block, sessions, written)),
        sent=len(sent),
        chosen=len(chosen),
        deviation=deviation,
    )


def _sent(user: "User", block: Block, child: Child) -> dict[int, list[Any]]:
    """By session, the slots the child has."""
    slots = AssignedSlot.objects.remembered_by(user).filter(
        assigned_session__child=child, assigned_session__session__block=block
    )
    columns = {"session": F("assigned_session__session"), "code": F("reasons__0__code")} | {
        name: F(f"revision__{name}") for name in WORKED
    }
    named = slots.annotate(**columns).values_list(
        *columns, *PRESCRIBED, "rounds", "outcome", "written_slot", named=True
    )
    rows: dict[int, list[Any]] = {}
    for row in named:
        rows.setdefault(row.session, []).append(row)
    return rows


def _outcomes(rows: Iterable[Any]) -> Iterator[Sent]:
    return (Sent(row.outcome, row.code, 1) for row in rows if row.written_slot)


def _by_week(block: Block, sessions: Sequence[Session], volumes: dict[int, Volume]) -> list[Volume]:
    days = ((each.date, volumes[each.pk]) for each in sessions if each.pk in volumes)
    return by_week(days, block.starts_on, block.weeks)
