"""From a fitted session to what each child is to get of it: with revisions, notes to the family,
and what the coach has said of this session or of all of them."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from athletes.models import Child
from program.engine.fit.fitting import Fitted, Outcome
from program.engine.fit.limits import HardLimits
from program.fit.choices import Chosen, ChosenSession
from program.fit.fitting import FittedSession
from program.models import Override, Slot, StandingDecision

type Place = tuple[int, int]
"""A slot and a child, by key."""


def chosen_for(
    fitted: FittedSession, children: Collection[Child], words: "CoachsWords"
) -> list[ChosenSession]:
    """What each of these children gets of a session that was fitted to them."""
    notes = words.notes
    return [
        ChosenSession(
            child.pk,
            list(chosen_of(fitted, fitted.by_child[child.pk], child, notes)),
            [
                slot
                for slot, each in zip(fitted.slots, fitted.by_child[child.pk], strict=True)
                if each.outcome is Outcome.COACH_DECIDES
            ],
            bool(HardLimits(fitted.circumstances[child.pk]).held_back),
            not fitted.goes_out_to(child),
        )
        for child in children
    ]


def chosen_of(
    fitted: FittedSession,
    filled: Sequence[Fitted],
    child: Child,
    notes: Mapping[tuple[int, int], str],
) -> Iterator[Chosen]:
    """The slots of a fitted session, filled so for one child."""
    for slot, each in zip(fitted.slots, filled, strict=True):
        if each.given is None:
            continue
        written, easier = slot.prescription, each.easier
        yield Chosen(
            slot=slot,
            revision=fitted.library.revisions[each.given.exercise],
            prescription=written.with_dose(each.given.dose),
            outcome=each.outcome,
            reasons=tuple(reason.to_json() for reason in each.reasons),
            note=notes.get((slot.pk, child.pk), ""),
            easier_revision=fitted.library.revisions[easier.exercise] if easier else None,
            easier=written.with_dose(easier.dose) if easier else None,
        )


@dataclass(frozen=True)
class CoachsWords:
    """What a coach has said, by slot and child: of this session alone, or wherever the exercise
    stands. Of one place there is either the one or the other."""

    here: Mapping[Place, Override]
    everywhere: Mapping[Place, StandingDecision]

    @property
    def notes(self) -> dict[Place, str]:
        """The words to the family."""
        everywhere = {place: each.note for place, each in self.everywhere.items()}
        return everywhere | {place: each.note for place, each in self.here.items()}


def coachs_words(fitted: FittedSession, children: Collection[Child]) -> CoachsWords:
    """What is in effect in a session that was fitted to these children. Two queries."""
    here = Override.objects.filter(child__in=children, slot__part__session=fitted.session)
    of_slot = {
        (each.slot_id, each.child_id): each for each in here.select_related("exercise", "set_by")
    }
    decided = _decided(fitted, children)
    in_effect = {
        (slot.pk, child.pk): decision
        for child in children
        for slot, each in zip(fitted.slots, fitted.by_child[child.pk], strict=True)
        if (slot.pk, child.pk) not in of_slot
        and (decision := _behind(each, slot, decided.get(child.pk, ()), fitted))
    }
    return CoachsWords(of_slot, in_effect)


def _decided(
    fitted: FittedSession, children: Collection[Child]
) -> dict[int, list[StandingDecision]]:
    """By child, what stands for it in this session."""
    session, cohort = fitted.session, fitted.session.block.cohort_id
    standing = StandingDecision.objects.standing().filter(child__in=children, cohort=cohort)
    found: dict[int, list[StandingDecision]] = {}
    for each in standing.with_names():
        if each.holds_in(session, cohort, session.block_id):
            found.setdefault(each.child_id, []).append(each)
    return found


def _behind(
    each: Fitted, slot: Slot, decided: Sequence[StandingDecision], fitted: FittedSession
) -> StandingDecision | None:
    """The decision that what a child gets in a slot comes of; None where fit chose it."""
    if each.outcome not in (Outcome.COACH_CHOICE, Outcome.LEFT_OUT):
        return None
    for one in decided:
        if one.written_id == slot.exercise_id:
            return one
    exercise = fitted.library.fit.by_slug.get(slot.exercise.slug)
    needs = [need.items for need in exercise.needs] if exercise else []
    return next((one for one in decided if any(items <= set(one.needing) for items in needs)), None)
