"""Findings about a child's next step on a pathway: to another exercise, or more of the same."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from typing import Final, NamedTuple

from django.utils import timezone

from library.graph import PathwayGraph
from library.shared.dates import short_weekday_and_date
from program.common.lanes import Evidence, evidence_lane
from program.common.wording import number
from program.engine.dose.dose import Measure
from program.engine.progress import (
    IN_A_ROW,
    Attempt,
    Move,
    Standing,
    Suggestion,
    Why,
    suggest,
)
from program.models.resolutions import Do, Kind
from program.review.finding import SHOWN, Action, Finding
from program.review.queries import PlacementRow, ReviewRows, SlotRow

NOT_YET: Final = 14
"""Days that "not yet" keeps a suggestion away."""

OFFERED: Final = 2
"""How many exercises are offered where a pathway branches."""

MORE_AT_ONCE: Final = 5
"""How many exercises of a child get more at once."""

REASONS: Final = {
    Why.AT_EASE: (
        "at ease",
        "twice over",
        "All {asked}, much easier than this child’s sessions usually are, twice in a row.",
    ),
    Why.STEADY: (
        "managed",
        "eight times",
        "All {asked} in each of the last eight sessions, half of them or more rated 4 or less.",
    ),
    Why.ROOM_TO_SPARE: (
        "two to spare",
        "twice over",
        "Two more than the {asked} asked, two sessions in a row.",
    ),
    Why.NOT_MANAGED: (
        "not managed",
        "twice over",
        "{asked} asked and not managed, two sessions in a row.",
    ),
    Why.MUCH_HARDER: (
        "far harder",
        "twice over",
        "{asked} asked, far harder than usual, twice in a row.",
    ),
}


NOT_SEEN: Final = "It began there with its group; no coach has seen it yet."


class Judged(NamedTuple):
    """What the logs say of one placement."""

    placement: PlacementRow
    slots: Sequence[SlotRow]
    suggestion: Suggestion

    @property
    def rests_on(self) -> list[SlotRow]:
        return [each for each in self.slots if each.log in self.suggestion.rests_on]


def progress_findings(rows: ReviewRows) -> Iterator[Finding]:
    """Moving on and stepping back one by one; a little more of what stays, once for each child."""
    more: dict[int, list[Judged]] = defaultdict(list)
    for placement in rows.placements:
        graph = rows.library.fit.graphs.get(placement.pathway)
        judged = _judge(rows, placement, graph) if graph and placement.exercise in graph else None
        if judged is None or graph is None:
            continue
        move = judged.suggestion.move
        if move in {Move.MOVE_ON, Move.STEP_BACK}:
            yield _moving(rows, judged, _offered(rows, placement, graph, up=move is Move.MOVE_ON))
        elif move is Move.ADD and _is_news(judged):
            more[placement.child_id].append(judged)
    for those in more.values():
        yield _more(rows, those[:MORE_AT_ONCE])


def _judge(rows: ReviewRows, placement: PlacementRow, graph: PathwayGraph) -> Judged | None:
    """What happened since the child was placed here speaks, and nothing before."""
    since = timezone.localtime(placement.placed_at).date()
    slots = [
        each
        for each in rows.slots_by_exercise.get((placement.child_id, placement.exercise), ())
        if each.on >= since
    ]
    if not slots:
        return None
    has_harder = bool(_offered(rows, placement, graph, up=True))
    return Judged(placement, slots, _suggest(rows, placement, slots, has_harder=has_harder))


def _is_news(judged: Judged) -> bool:
    """Whether all of it was done after the dose was raised last. Where no coach has seen the child
    yet nothing is."""
    if not judged.placement.is_seen:
        return False
    raised = judged.placement.raised_at
    if raised is None:
        return True
    return all(each.on > timezone.localtime(raised).date() for each in judged.rests_on)


def _suggest(
    rows: ReviewRows, placement: PlacementRow, slots: Sequence[SlotRow], *, has_harder: bool
) -> Suggestion:
    child = rows.who[placement.child_id].child
    revision = rows.library.revisions[placement.exercise]
    standing = Standing(
        measure=revision.measure,
        usual=revision.usual,
        high=revision.high,
        has_harder=has_harder,
        earlier_efforts=rows.efforts.get(placement.child_id, [])[:-IN_A_ROW],
        grows_fast=child.grows_fast_on(rows.today),
        is_restricted=placement.child_id in rows.restricted,
    )
    return suggest([_attempt(each, rows) for each in slots], standing, rows.today)


def _attempt(slot: SlotRow, rows: ReviewRows) -> Attempt:
    return Attempt(
        log=slot.log,
        on=slot.on,
        target=slot.target,
        done=slot.is_done,
        least=min(slot.amounts, default=None),
        best=max(slot.amounts, default=None),
        effort=slot.effort,
        took_easier=slot.took_easier or False,
        hurt=slot.session in rows.sore_sessions,
    )


def _offered(
    rows: ReviewRows, placement: PlacementRow, graph: PathwayGraph, *, up: bool
) -> tuple[str, ...]:
    """The exercises one step up or down, of those in use and for this age; the nearest by rank."""
    age = rows.who[placement.child_id].child.age_on(rows.today)
    return tuple(rows.library.fit.beyond(graph, placement.exercise, age, up=up)[:OFFERED])


def _moving(rows: ReviewRows, judged: Judged, offered: Sequence[str]) -> Finding:
    placement, _, suggestion = judged
    up = suggestion.move is Move.MOVE_ON
    kind = Kind.MOVE_ON if up else Kind.STEP_BACK
    word, times, reason = REASONS[suggestion.why]
    rests_on = judged.rests_on
    cells = [
        Evidence(each.told, f"{short_weekday_and_date(each.on)}, {_effort(each)}")
        for each in rests_on[1 - SHOWN :]
    ]
    cells.append(Evidence(word, times, "good" if up else "look"))
    names = rows.library.fit.names
    name = names[placement.exercise]
    headline = f"Ready for more than {name}" if up else f"{name} is too hard just now"
    stay = "Not yet" if up else "Stay here"
    steps = [(slug, f"{_moved(placement, up=up)} to {names[slug]}") for slug in offered]
    return Finding(
        key=f"{kind}-{placement.pk}",
        kind=kind,
        who=rows.who[placement.child_id],
        subjects=(placement.pk,),
        headline=headline,
        alike=headline if placement.is_seen else f"{headline}, not seen yet",
        evidence=(
            reason.format(asked=rests_on[-1].target),
            *_own_test(rows, placement, offered, up=up),
            *(() if placement.is_seen else (NOT_SEEN,)),
        ),
        actions=(
            *(Action(Do.PLACE, label, slug, for_all=label) for slug, label in steps),
            *_stands_right(placement, name),
            Action(Do.SEEN, stay, days=NOT_YET, for_all=stay),
        ),
        on=rests_on[-1].on,
        logs=rows.logs(suggestion.rests_on),
        drawn=partial(evidence_lane, name, cells),
    )


def _moved(placement: PlacementRow, *, up: bool) -> str:
    if up:
        return "Move on" if placement.is_seen else "Seen: on"
    return "Step back"


def _stands_right(placement: PlacementRow, name: str) -> tuple[Action, ...]:
    """To where it stands, which says that a coach has seen it there."""
    if placement.is_seen:
        return ()
    label = f"Seen: {name} is right"
    return (Action(Do.PLACE, label, placement.exercise, for_all=label),)


def _more(rows: ReviewRows, those: Sequence[Judged]) -> Finding:
    names = rows.library.fit.names
    news = [_bit_more(each, names[each.placement.exercise]) for each in those]
    first = names[those[0].placement.exercise]
    of_what = first if len(those) == 1 else f"{number(len(those))} exercises"
    keys = ",".join(f"{each.placement.pk}.{each.rests_on[-1].target}" for each in those)
    label = "Add it" if len(those) == 1 else "Add to all"
    whole = Action(Do.ADD, label, _target(those), for_all="Add it all")
    singly = [
        Action(Do.ADD, f"Only {names[each.placement.exercise]}", _target([each])) for each in those
    ]
    return Finding(
        key=f"{Kind.ADD}-{keys}"[:80],
        kind=Kind.ADD,
        who=rows.who[those[0].placement.child_id],
        subjects=tuple(each.placement.pk for each in those),
        headline=f"Room for a little more of {of_what}",
        alike="Room for a little more",
        evidence=tuple(news),
        actions=(
            whole,
            *(singly if len(singly) > 1 else ()),
            Action(Do.SEEN, "Not yet", days=NOT_YET, for_all="Not yet"),
        ),
        on=max(each.rests_on[-1].on for each in those),
        logs=rows.logs(log for each in those for log in each.suggestion.rests_on),
    )


def _bit_more(judged: Judged, name: str) -> str:
    """ "Squat: 10 instead of 8. All 8 at ease, two sessions in a row." """
    last = judged.rests_on[-1]
    *_, reason = REASONS[judged.suggestion.why]
    measure = Measure(last.measure)
    more, asked = last.target + judged.suggestion.add, last.target
    much = f"{measure.written(more)} instead of {measure.written(asked)}"
    return f"{name}: {much}. {reason.format(asked=asked)}"


def _target(those: Iterable[Judged]) -> str:
    return ",".join(f"{each.placement.pk}.{each.suggestion.add}" for each in those)


def _own_test(
    rows: ReviewRows, placement: PlacementRow, offered: Sequence[str], *, up: bool
) -> tuple[str, ...]:
    """What the pathway itself asks for before the step."""
    here = placement.exercise
    tests = [rows.ready.get((placement.pathway, here, there)) for there in offered if up]
    return tuple(f"The step’s own test: {test}" for test in tests[:1] if test)


def _effort(slot: SlotRow) -> str:
    return "no effort logged" if slot.effort is None else f"effort {slot.effort}"
