"""Fit as it is published: what was decided for all sessions is held against the checks in each."""

from collections.abc import Collection
from dataclasses import replace

from athletes.models import Child
from program.engine.checks import CheckResult
from program.engine.fit.fitting import Fitted, Outcome
from program.engine.fit.reasons import Reason, ReasonCode
from program.fit.choosing import CoachsWords, coachs_words
from program.fit.fitting import FittedSession, fit
from program.models import Session
from program.publish.own_choices import Around


def fit_and_check(
    session: Session, children: Collection[Child]
) -> tuple[FittedSession, CoachsWords]:
    """Fit a session, fetched `with_plan()`, to these children, with what their coach has said.

    A choice for this session was held against the checks when it was made. One that stands for all
    of them meets sessions and facts that nobody had seen: where a check says stop to it now, and no
    reason was written, the coach decides again.
    """
    fitted = fit(session, children)
    words = coachs_words(fitted, children)
    given = {
        place: each
        for place, each in words.everywhere.items()
        if each.exercise_id and not each.because
    }
    if not given:
        return fitted, words
    around = Around.of(fitted)
    by_child = dict(fitted.by_child)
    slots = {slot.pk: slot for slot in fitted.slots}
    for child in children:
        for slot in (slots[key] for key, of in given if of == child.pk):
            if stops := around.stops_in(slot, child):
                stopped = _stopped(by_child[child.pk], fitted.slots.index(slot), stops)
                by_child[child.pk] = stopped
    return replace(fitted, by_child=by_child), words


def _stopped(
    fitted: tuple[Fitted, ...], place: int, stops: list[CheckResult]
) -> tuple[Fitted, ...]:
    one = fitted[place]
    said = " ".join(stop.sentence for stop in stops)
    name = one.given.exercise if one.given else ""
    why = Reason(ReasonCode.CHOICE_STOPPED, exercise=name, detail=said)
    instead = Fitted(one.slot_key, Outcome.COACH_DECIDES, None, None, (why, *one.reasons))
    return (*fitted[:place], instead, *fitted[place + 1 :])
