"""The facts that the checks ask for, in a fixed number of queries, and what the checks then say."""

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from library.landing import in_words
from program.checks.cohort_facts import People, cohort_facts, work_of
from program.checks.kept_from_landing import kept_from_landing
from program.common.session_plan import Plan, amounts_of, plan_of
from program.engine.checks import (
    CheckedSession,
    CheckedSlot,
    CheckedWeek,
    CheckResult,
    DayOfWork,
    Level,
    check_session,
    check_week,
    most_urgent_first,
)
from program.engine.timeline import PartKind
from program.engine.weeks import A_WEEK, week_end
from program.models import Place, Session, StopReason


@dataclass(frozen=True)
class KeptResult:
    """A result and, where it is a stop that went out nevertheless, the coach's reason. `who` is
    whom it means, by name and with which other group, once `naming.with_names` was asked."""

    result: CheckResult
    kept: StopReason | None = None
    who: str = ""

    @property
    def is_open_stop(self) -> bool:
        return self.result.level is Level.STOP and self.kept is None


def results_for_session(session: Session) -> tuple[KeptResult, ...]:
    """What the checks find in a session and its week; `session` is fetched `with_plan()`. Whoever
    lands in nothing of it because the coach has said so needs no placement for it."""
    block = session.block
    starts = block.week_starts(block.week_of(session.date))
    here = cohort_facts(block.cohort, starts, week_end(starts))
    work = work_of(block.cohort, starts - 2 * A_WEEK, week_end(starts))
    facts = facts_of(session, plan_of(session), here.people, work)
    if facts.not_placed_on_landing:
        landing = set(facts.not_placed_on_landing) - kept_from_landing(session)
        facts = replace(facts, not_placed_on_landing=tuple(sorted(landing)))
    own = check_session(facts, here.settings)
    week = CheckedWeek(starts, tuple(work), here.people.checked(week_end(starts)))
    of_week = check_week(week, here.settings) if has_exercises(session) else ()
    kept = _kept(session)
    return tuple(
        KeptResult(result, next((each for each in kept if each.covers(result)), None))
        for result in most_urgent_first((*own, *of_week))
    )


def has_exercises(session: Session) -> bool:
    return any(part.slots.all() for part in session.parts.all())


def facts_of(
    session: Session, plan: Plan, people: People, work: Iterable[DayOfWork] = ()
) -> CheckedSession:
    """What the checks ask of a session; its exercises' needs are fetched. `work` is the cohort's
    of that day at least, this session's among it."""
    day, is_at_home = session.date, session.place == Place.HOME
    here = people.on(day)
    that_day = [each.volume.total for each in work if each.on == day and each.volume.patterns]
    contacts = sum(each.ground_contacts for each in that_day) - plan.volume.total.ground_contacts
    return CheckedSession(
        slots=tuple(_slots(plan, people, day, is_at_home=is_at_home)),
        seconds=plan.seconds,
        target_minutes=session.target_minutes,
        is_at_home=is_at_home,
        warm_up_seconds=_warm_up_seconds(plan),
        on=day,
        children=people.checked(day),
        sessions_beside=max(0, len(that_day) - 1),
        contacts_beside=max(0, round(contacts)),
        not_placed_on_landing=tuple(
            person.child for person in here if not person.is_placed_on_landing
        ),
        lacking=people.lacking(_items_by_need(plan), day) if is_at_home else {},
        families=len(here),
    )


def _kept(session: Session) -> list[StopReason]:
    return list(session.stop_reasons.select_related("by"))


def _slots(plan: Plan, people: People, day: dt.date, *, is_at_home: bool) -> Iterator[CheckedSlot]:
    for part in plan.parts:
        for slot in part.slots:
            if slot.dose and slot.revision:
                revision, needs = slot.revision, slot.revision.items_by_need
                yield CheckedSlot(
                    revision.name,
                    revision.pattern,
                    slot.dose,
                    part.rounds,
                    revision.watch,
                    amounts_of(revision),
                    people.cannot_do(needs.values(), day, is_at_home=is_at_home),
                    in_words(revision.unsaid),
                )


def _warm_up_seconds(plan: Plan) -> int | None:
    """How long the first part takes, if it is a warm-up."""
    if not plan.parts or plan.parts[0].kind is not PartKind.WARM_UP:
        return None
    return plan.part_seconds.get(plan.parts[0].key, 0)


def _items_by_need(plan: Plan) -> dict[str, frozenset[str]]:
    revisions = (slot.revision for part in plan.parts for slot in part.slots if slot.revision)
    return {what: items for revision in revisions for what, items in revision.items_by_need.items()}
