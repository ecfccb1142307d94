"""Who gets a block as it is written and who does not, whoever deviates furthest from it first.

Counted in exercises over all of a child's sessions: what the child has as it was sent, what is
still to be published as fit would choose it today.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, NamedTuple

from django.db.models import Count

from athletes.models import Child, Enrolment
from program.blocks.queries import sessions_of
from program.common.lanes import FitBar, FitKind, fit_bar
from program.engine.fit.fitting import Fitted, Outcome
from program.engine.fit.reasons import ABOUT_HEALTH, IN_SHORT, ReasonCode
from program.fit.fitting import fit_over
from program.fit.who_gets_what import KIND_OF
from program.models import AssignedSession, Block, Session

if TYPE_CHECKING:
    from athletes.models import User

WHYS_SHOWN: Final = 3
NOT_SENT: Final = "not in what was sent"


class Sent(NamedTuple):
    """How many slots that are still written a child has with one outcome for one reason."""

    outcome: str
    code: str | None
    times: int


@dataclass
class Deviation:
    """One child's exercises over the block by what became of them, and the short reasons of those
    that are not as written."""

    child: Child
    kinds: Counter[FitKind] = field(default_factory=Counter)
    reasons: Counter[str] = field(default_factory=Counter)
    tells_of_health: bool = False

    @property
    def total(self) -> int:
        return self.kinds.total()

    @property
    def not_as_written(self) -> int:
        return self.total - self.kinds["as_written"]

    @property
    def share(self) -> float:
        """Of its exercises, how much is not as written: 0 to 1, and 0 without any."""
        return self.not_as_written / self.total if self.total else 0.0

    @property
    def waiting(self) -> int:
        """How often nothing fits before the coach decides."""
        return self.kinds["undecided"]

    @property
    def bar(self) -> FitBar:
        return fit_bar(self.kinds)

    @property
    def whys(self) -> list[tuple[str, int]]:
        """The commonest reasons, with how often each is the decisive one."""
        return sorted(self.reasons.items(), key=lambda each: (-each[1], each[0]))[:WHYS_SHOWN]

    def add(self, outcome: Outcome, code: ReasonCode | None, times: int = 1) -> None:
        self.kinds[KIND_OF[outcome]] += times
        if code and outcome is not Outcome.AS_WRITTEN:
            self.reasons[IN_SHORT[code]] += times
            self.tells_of_health = self.tells_of_health or code in ABOUT_HEALTH

    def add_fitted(self, given: Iterable[Fitted]) -> None:
        """What the child would get in the slots of a session."""
        for each in given:
            self.add(each.outcome, each.reasons[0].code)

    def add_sent(self, sent: Iterable[Sent], written: int) -> None:
        """What the child has of the `written` slots of a session; the others it has not got."""
        missing = written
        for each in sent:
            if each.times:
                code = ReasonCode(each.code) if each.code else None
                self.add(Outcome(each.outcome), code, each.times)
                missing -= each.times
        if missing:
            self.kinds[KIND_OF[Outcome.LEFT_OUT]] += missing
            self.reasons[NOT_SENT] += missing


def deviations(user: "User", block: Block, enrolments: Sequence[Enrolment]) -> list[Deviation]:
    """`enrolments` are those of everybody on the block's days, visible to the person."""
    sessions = sessions_of(block)
    found = {each.child_id: Deviation(each.child) for each in enrolments}
    have = _count_sent(user, block, sessions, found)
    _count_fitted(sessions, enrolments, found, have)
    return sorted(found.values(), key=lambda each: -each.share)


def _count_sent(
    user: "User", block: Block, sessions: Sequence[Session], found: dict[int, Deviation]
) -> set[tuple[int, int]]:
    """Count what children have of what is written now; answers by session and child who has it."""
    rows = AssignedSession.objects.remembered_by(user).filter(session__block=block, child__in=found)
    sent: dict[tuple[int, int], list[Sent]] = defaultdict(list)
    for session, child, *told in rows.values_list(
        "session", "child", "slots__outcome", "slots__reasons__0__code"
    ).annotate(Count("slots__written_slot")):
        sent[session, child].append(Sent(*told))
    written = {session.pk: len(session.all_slots()) for session in sessions}
    for (session, child), told in sent.items():
        found[child].add_sent(told, written[session])
    return set(sent)


def _count_fitted(
    sessions: Sequence[Session],
    enrolments: Sequence[Enrolment],
    found: dict[int, Deviation],
    have: set[tuple[int, int]],
) -> None:
    """Count what children would get of what they have not got yet."""
    still = {session.pk: list(_still(session, enrolments, have)) for session in sessions}
    to_fit = [session for session in sessions if still[session.pk]]
    children = [each.child for each in found.values()]
    for session, fitted in zip(to_fit, fit_over(to_fit, children), strict=True):
        for child in still[session.pk]:
            found[child].add_fitted(fitted.by_child[child])


def _still(
    session: Session, enrolments: Sequence[Enrolment], have: set[tuple[int, int]]
) -> Iterator[int]:
    for span in enrolments:
        if span.is_in_force(session.date) and (session.pk, span.child_id) not in have:
            yield span.child_id
