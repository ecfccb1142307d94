"""Findings about a child's next exercise on a pathway: ready to move on, or should step back."""

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Final

from django.utils import timezone

from library.graph import PathwayGraph
from program.engine.progress import (
    IN_A_ROW,
    LOOKS_BACK,
    Attempt,
    Move,
    Standing,
    Suggestion,
    Why,
    suggest,
)
from program.finding import Action, Do, Finding, Kind, day_in_words
from program.lanes import Evidence, evidence_lane
from program.review_rows import PlacementRow, ReviewRows, SlotRow

NOT_YET: Final = 14
"""Days that "not yet" keeps a suggestion away."""

OFFERED: Final = 2
"""How many exercises are offered where a pathway branches."""

REASONS: Final = {
    Why.AT_EASE: ("at ease", "All {asked} at ease, two sessions in a row."),
    Why.ROOM_TO_SPARE: ("two to spare", "Two more than the {asked} asked, two sessions in a row."),
    Why.NOT_MANAGED: ("not managed", "{asked} asked and not managed, two sessions in a row."),
    Why.MUCH_HARDER: ("far harder", "{asked} asked, far harder than usual, twice in a row."),
}


def progress_findings(rows: ReviewRows) -> Iterator[Finding]:
    for placement in rows.placements:
        graph = rows.library.fit.graphs.get(placement.pathway)
        if graph and placement.exercise in graph:
            yield from _of_placement(rows, placement, graph)


def _of_placement(
    rows: ReviewRows, placement: PlacementRow, graph: PathwayGraph
) -> Iterator[Finding]:
    """What happened since the child was placed here speaks, and nothing before."""
    since = timezone.localtime(placement.placed_at).date()
    slots = [
        each
        for each in rows.slots_by_exercise.get((placement.child_id, placement.exercise), ())
        if each.on >= since
    ]
    if not slots:
        return
    harder = _offered(rows, placement, graph, up=True)
    suggestion = _suggest(rows, placement, slots, has_harder=bool(harder))
    if suggestion.move is Move.MOVE_ON:
        yield _finding(rows, placement, slots, suggestion, harder)
    elif suggestion.move is Move.STEP_BACK:
        easier = _offered(rows, placement, graph, up=False)
        yield _finding(rows, placement, slots, suggestion, easier)


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
    return suggest([_attempt(each, rows) for each in slots[-LOOKS_BACK:]], standing, rows.today)


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


def _finding(
    rows: ReviewRows,
    placement: PlacementRow,
    slots: Sequence[SlotRow],
    suggestion: Suggestion,
    offered: Sequence[str],
) -> Finding:
    up = suggestion.move is Move.MOVE_ON
    kind = Kind.MOVE_ON if up else Kind.STEP_BACK
    word, reason = REASONS[suggestion.why]
    rests_on = [each for each in slots if each.log in suggestion.rests_on]
    cells = [Evidence(each.told, f"{day_in_words(each.on)}, {_effort(each)}") for each in rests_on]
    cells.append(Evidence(word, "twice over", "good" if up else "look"))
    names = rows.library.fit.names
    name = names[placement.exercise]
    return Finding(
        key=f"{kind}-{placement.pk}",
        kind=kind,
        who=rows.who[placement.child_id],
        subjects=(placement.pk,),
        headline=f"Ready for more than {name}" if up else f"{name} is too hard just now",
        evidence=(
            reason.format(asked=rests_on[-1].target),
            *_own_test(rows, placement, offered, up=up),
        ),
        actions=(
            *(
                Action(Do.PLACE, f"{'Move on' if up else 'Step back'} to {names[slug]}", slug)
                for slug in offered
            ),
            Action(Do.SEEN, "Not yet" if up else "Stay here", days=NOT_YET),
        ),
        on=rests_on[-1].on,
        drawn=partial(evidence_lane, name, cells),
    )


def _own_test(
    rows: ReviewRows, placement: PlacementRow, offered: Sequence[str], *, up: bool
) -> tuple[str, ...]:
    """What the pathway itself asks for before the step."""
    here = placement.exercise
    tests = [rows.ready.get((placement.pathway, here, there)) for there in offered if up]
    return tuple(f"The step’s own test: {test}" for test in tests[:1] if test)


def _effort(slot: SlotRow) -> str:
    return "no effort told" if slot.effort is None else f"effort {slot.effort}"
