"""Whom the coach has kept from every landing of a session."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from library.models.exercises import lands
from program.models import Override, Session, StandingDecision


def kept_from_landing(sessions: Sequence[Session]) -> dict[int, set[int]]:
    """By session in which something lands the children, by key, for whom each such exercise is left
    out, or another one that does not land, by the coach's word. The sessions are fetched
    `with_plan()`; two queries, and none where nothing lands."""
    landing = {session: _landing(session) for session in sessions}
    landing = {session: slots for session, slots in landing.items() if slots}
    if not landing:
        return {}
    slots = [slot for of_session in landing.values() for slot in of_session]
    here = Override.objects.filter(slot__in=slots).exclude(lands("exercise__current__"))
    said = list(here.values_list("child", "slot"))
    standing = _standing(landing, {each for of in landing.values() for each in of.values()})
    return {session.pk: _kept(session, slots, said, standing) for session, slots in landing.items()}


def _landing(session: Session) -> dict[int, int]:
    """The written exercise of each slot that lands."""
    return {slot.pk: slot.exercise_id for slot in session.all_slots() if slot.lands}


def _kept(
    session: Session,
    landing: dict[int, int],
    said: Iterable[tuple[int, int]],
    standing: Iterable[StandingDecision],
) -> set[int]:
    kept: dict[int, set[int]] = defaultdict(set)
    for child, slot in said:
        kept[child] |= {slot} & landing.keys()
    for each in standing:
        if each.holds_in(session, session.block.cohort_id, session.block_id):
            kept[each.child_id] |= {
                slot for slot, written in landing.items() if written == each.written_id
            }
    return {child for child, slots in kept.items() if slots == landing.keys()}


def _standing(sessions: Iterable[Session], written: set[int]) -> list[StandingDecision]:
    """What holds of these written exercises whatever fits."""
    cohorts = {session.block.cohort_id for session in sessions}
    decided = StandingDecision.objects.standing().filter(
        cohort__in=cohorts, written__in=written, where_nothing_fits=False
    )
    return list(decided.exclude(lands("exercise__current__")))
