"""A side that lags by more than noise."""

from collections.abc import Iterator, Sequence
from functools import partial

from library.shared.dates import short_weekday_and_date
from program.common.lanes import Evidence, evidence_lane
from program.engine.balance import Balance, Reading, balance
from program.models.resolutions import Do, Kind
from program.review.finding import LOOK_AT_THE_LOGS, SHOWN, Action, Finding
from program.review.queries import LOOKS_BACK, ReviewRows, SlotRow


def side_findings(rows: ReviewRows) -> Iterator[Finding]:
    for slots in rows.slots_by_exercise.values():
        told = [each for each in slots if each.left is not None and each.right is not None]
        if not told or told[-1].on < rows.today - LOOKS_BACK:
            continue
        found = balance([Reading(each.left or 0, each.right or 0, each.log) for each in told])
        if found and found.is_worth_a_look:
            cells = [Evidence(each.told, short_weekday_and_date(each.on)) for each in told[-SHOWN:]]
            yield _side(rows, told[-1], found, cells)


def _side(rows: ReviewRows, last: SlotRow, found: Balance, cells: Sequence[Evidence]) -> Finding:
    name = last.name
    return Finding(
        key=f"{Kind.SIDES}-{last.exercise}"[:80],
        kind=Kind.SIDES,
        who=rows.who[last.child_id],
        subjects=(),
        headline=f"{name}: {found.weaker} about {found.percent:.0f} % less",
        evidence=(
            f"In {len(found.readings)} sessions the left did {found.left:g} in all and the right "
            f"{found.right:g}: {found.percent:.0f} % less, give or take {found.margin:.0f}. "
            "A reason to watch, not a diagnosis.",
        ),
        actions=(Action(Do.SEEN, "Seen, look again in four weeks", days=28), LOOK_AT_THE_LOGS),
        on=last.on,
        logs=rows.logs(each.log for each in found.readings),
        drawn=partial(evidence_lane, name, cells),
        weight=round(found.percent),
    )
