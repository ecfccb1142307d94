"""The facts that the checks ask for, in a fixed number of queries, and what the checks then say."""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from library.landing import in_words
from program.checks.childrens_work import since, written_for
from program.checks.cohort_facts import CohortFacts, People, facts_of_cohorts
from program.checks.kept_from_landing import kept_from_landing
from program.common.session_plan import Plan, amounts_of, plan_of
from program.engine.checks import (
    Asked,
    CheckedSession,
    CheckedSlot,
    CheckedWeek,
    CheckResult,
    DayOfWork,
    Level,
    WorkByDay,
    check_session,
    check_week,
    most_urgent_first,
)
from program.engine.timeline import PartKind
from program.engine.volume import contacts_together
from program.engine.weeks import week_end
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


AS_WRITTEN: Final[Mapping[int, Asked]] = {}
"""What is asked of nobody in particular, where a session is not fitted to its children."""


def results_for_session(
    session: Session, asked: Mapping[int, Asked] = AS_WRITTEN
) -> tuple[KeptResult, ...]:
    """One session's, as `results_for_sessions` has them. `asked` is what it asks of children as it
    was fitted to them, by key; whoever is not in it is looked at as is written."""
    return results_for_sessions([session], {session.pk: asked})[session.pk]


def results_for_sessions(
    sessions: Sequence[Session], asked: Mapping[int, Mapping[int, Asked]] | None = None
) -> dict[int, tuple[KeptResult, ...]]:
    """By session what the checks find in it and in its week; the sessions, of whatever cohorts, are
    fetched `with_plan()`. Whoever lands in nothing of it because the coach has said so needs no
    placement for it. `asked` is by session what `results_for_session` takes: whoever asks for stops
    alone hands over none, since nothing that is fitted makes one."""
    asked = asked or {}
    if not sessions:
        return {}
    weeks = [_starts(session) for session in sessions]
    first, last = min(weeks), week_end(max(weeks))
    cohorts = {session.block.cohort_id for session in sessions}
    written = written_for(cohorts, since(first), last)
    near = facts_of_cohorts(cohorts, first, last, written)
    work = {
        cohort: WorkByDay(each.day for each in written if each.cohort == cohort)
        for cohort in cohorts
    }
    around = [
        (session, near[session.block.cohort_id], work[session.block.cohort_id])
        for session in sessions
    ]
    facts = {
        session.pk: facts_of(
            session, plan_of(session), here.people, works.days, asked.get(session.pk, AS_WRITTEN)
        )
        for session, here, works in around
    }
    meets_landing = [each for each in sessions if facts[each.pk].not_placed_on_landing]
    kept_from = kept_from_landing(meets_landing)
    reasons = _reasons(sessions)
    return {
        session.pk: _results(
            session,
            _without(facts[session.pk], kept_from.get(session.pk, set())),
            here,
            works,
            reasons.get(session.pk, []),
        )
        for session, here, works in around
    }


def _starts(session: Session) -> dt.date:
    """The first day of the session's week in its block."""
    return session.block.week_starts(session.block.week_of(session.date))


def _without(facts: CheckedSession, kept_from: Collection[int]) -> CheckedSession:
    landing = set(facts.not_placed_on_landing).difference(kept_from)
    return replace(facts, not_placed_on_landing=tuple(sorted(landing)))


def _results(
    session: Session,
    facts: CheckedSession,
    here: CohortFacts,
    work: WorkByDay,
    reasons: Sequence[StopReason],
) -> tuple[KeptResult, ...]:
    own, starts = check_session(facts, here.settings), _starts(session)
    week = CheckedWeek(starts, work, here.people.in_week(starts))
    of_week = check_week(week, here.settings) if has_exercises(session) else ()
    return tuple(
        KeptResult(result, next((each for each in reasons if each.covers(result)), None))
        for result in most_urgent_first((*own, *of_week))
    )


def has_exercises(session: Session) -> bool:
    return any(part.slots.all() for part in session.parts.all())


def facts_of(
    session: Session,
    plan: Plan,
    people: People,
    work: Iterable[DayOfWork] = (),
    asked: Mapping[int, Asked] = AS_WRITTEN,
) -> CheckedSession:
    """What the checks ask of a session; its exercises' needs are fetched. `work` is the cohort's
    of that day at least, this session's among it; `asked` as `results_for_session` takes it."""
    day, is_at_home = session.date, session.place == Place.HOME
    here = people.on(day)
    that_day = [each.volume for each in work if each.on == day and each.volume.patterns]
    contacts = contacts_together(each.contacts_by_class for each in that_day)
    own = plan.volume.contacts_by_class
    beside = {each: max(0, round(n - own.get(each, 0))) for each, n in contacts.items()}
    return CheckedSession(
        slots=tuple(_slots(plan, people, day, is_at_home=is_at_home)),
        seconds=plan.seconds,
        target_minutes=session.target_minutes,
        is_at_home=is_at_home,
        warm_up_seconds=_warm_up_seconds(plan),
        on=day,
        children=tuple(
            replace(child, asked=asked[child.key]) if child.key in asked else child
            for child in people.checked(day)
        ),
        sessions_beside=max(0, len(that_day) - 1),
        contacts_beside=sum(beside.values()),
        contacts_beside_by_class=beside,
        not_placed_on_landing=tuple(
            person.child for person in here if not person.is_placed_on_landing
        ),
        lacking=people.lacking(_items_by_need(plan), day) if is_at_home else {},
        families=len(here),
    )


def _reasons(sessions: Iterable[Session]) -> dict[int, list[StopReason]]:
    """By session why it goes out in spite of its stops, as coaches have written."""
    found: dict[int, list[StopReason]] = {}
    for each in StopReason.objects.filter(session__in=sessions).select_related("by"):
        found.setdefault(each.session_id, []).append(each)
    return found


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
                    revision.class_counted,
                )


def _warm_up_seconds(plan: Plan) -> int | None:
    """How long the first part takes, if it is a warm-up."""
    if not plan.parts or plan.parts[0].kind is not PartKind.WARM_UP:
        return None
    return plan.part_seconds.get(plan.parts[0].key, 0)


def _items_by_need(plan: Plan) -> dict[str, frozenset[str]]:
    revisions = (slot.revision for part in plan.parts for slot in part.slots if slot.revision)
    return {what: items for revision in revisions for what, items in revision.items_by_need.items()}
