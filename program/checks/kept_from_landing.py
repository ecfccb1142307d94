"""Whom the coach has kept from every landing of a session."""

from collections import defaultdict

from library.models.exercises import lands
from program.models import Override, Session, StandingDecision


def kept_from_landing(session: Session) -> set[int]:
    """The children, by key, for whom each exercise of a session that lands is left out, or another
    one that does not land, by the coach's word. `session` is fetched `with_plan()`; two queries,
    and none where nothing lands."""
    landing = {slot.pk: slot.exercise_id for slot in session.all_slots() if slot.lands}
    if not landing:
        return set()
    here = Override.objects.filter(slot__in=landing).exclude(lands("exercise__current__"))
    everywhere = _standing(session, set(landing.values()))
    kept: dict[int, set[int]] = defaultdict(set)
    for child, slot in here.values_list("child", "slot"):
        kept[child].add(slot)
    for child, exercise in everywhere:
        kept[child] |= {slot for slot, written in landing.items() if written == exercise}
    return {child for child, slots in kept.items() if slots == landing.keys()}


def _standing(session: Session, written: set[int]) -> list[tuple[int, int | None]]:
    """By child and written exercise, what holds in the session whatever fits."""
    cohort = session.block.cohort_id
    decided = StandingDecision.objects.standing().filter(
        cohort=cohort, written__in=written, where_nothing_fits=False
    )
    return [
        (each.child_id, each.written_id)
        for each in decided.exclude(lands("exercise__current__"))
        if each.holds_in(session, cohort, session.block_id)
    ]
