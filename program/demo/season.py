"""Writing the demo's season: blocks, sessions, what went out, and what came back."""

import datetime as dt
import random
from collections.abc import Iterator, Sequence
from typing import Final

from django.utils import timezone

from athletes.models import Child, Cohort, User
from athletes.signals import Circumstance
from library.models import Exercise
from program.demo.scenario import GROUPS, ROUNDS_BY_WEEK, WARM_UP_ROUNDS_BY_WEEK, Day, Group, Line
from program.demo.simulation import (
    SessionLog,
    SimulatedSlot,
    Traits,
    as_the_coach_logs_it,
    log_of,
)
from program.engine.weeks import A_WEEK, monday_of
from program.models import (
    AssignedSession,
    Block,
    Completion,
    CompletionState,
    PainReport,
    Part,
    Place,
    Progression,
    ProgressionKindChoices,
    Session,
    Slot,
    SlotResult,
)
from program.publish.publishing import publish
from program.publish.refitting import refit

BLOCK_WEEKS = len(ROUNDS_BY_WEEK)


HOME_WEEKDAYS: Final = frozenset(
    day.weekday for group in GROUPS for day in group.days if day.place == Place.HOME
)
LAST_HOME_WEEKDAY: Final = max(HOME_WEEKDAYS)


def days_later(today: dt.date) -> int:
    """By how many days the written weekdays are turned, round the week, so that every child has a
    session to do at home on the day the demo is opened."""
    if today.weekday() in HOME_WEEKDAYS:
        return 0
    return (today.weekday() - LAST_HOME_WEEKDAY) % 7


def write_blocks(
    cohorts: dict[str, Cohort], first_monday: dt.date, weeks: int, later: int, by: User
) -> list[Session]:
    """Blocks of up to eight weeks per cohort, one after the other, with all their sessions, each
    that many days `later` in its week than written."""
    exercises = {each.slug: each for each in Exercise.objects.published().with_current()}
    sessions = []
    for group in GROUPS:
        for number, first_week in enumerate(range(0, weeks, BLOCK_WEEKS), start=1):
            length = min(BLOCK_WEEKS, weeks - first_week)
            starts_on = first_monday + first_week * A_WEEK
            block = Block.objects.create(
                cohort=cohorts[group.name],
                name=group.block if number == 1 else f"{group.block}, part {number}",
                aim=group.aim,
                starts_on=starts_on,
                ends_on=starts_on + length * A_WEEK - dt.timedelta(days=1),
            )
            for week in range(length):
                sessions += [
                    _write_session(block, day, week, later, exercises, by) for day in group.days
                ]
            _write_progressions(block, group, exercises, by)
    return sessions


def _write_progressions(
    block: Block, group: Group, exercises: dict[str, Exercise], by: User
) -> None:
    """What grows in the scenario is meant to."""
    growing = [
        (day, line, revision)
        for day in group.days
        for section in (day.warm_up, *day.pairs)
        for line in section.lines
        if line.grows and (revision := exercises[line.exercise].current)
    ]
    Progression.objects.bulk_create(
        Progression(
            block=block,
            session_name=day.name,
            exercise=exercises[line.exercise],
            kind=ProgressionKindChoices.GROW,
            start=line.amount,
            step=line.grows,
            every=2,
            top=revision.high,
            by=by,
            at=_moment(block.starts_on, 9),
        )
        for day, line, revision in growing
        if revision.high > line.amount
    )


def _write_session(
    block: Block, day: Day, week: int, later: int, exercises: dict[str, Exercise], by: User
) -> Session:
    weekday = (day.weekday + later) % 7
    session = Session.objects.create(
        block=block,
        name=day.name,
        date=block.week_starts(week + 1) + dt.timedelta(days=weekday),
        place=day.place,
        target_minutes=25,
        note=day.note,
        edited_by=by,
    )
    sections = [
        (day.warm_up, WARM_UP_ROUNDS_BY_WEEK[week]),
        *((section, ROUNDS_BY_WEEK[week]) for section in day.pairs),
    ]
    parts = Part.objects.bulk_create(
        Part(
            session=session,
            position=position,
            name=section.name,
            kind=section.kind,
            rounds=rounds,
            rest_seconds=section.rest,
        )
        for position, (section, rounds) in enumerate(sections)
    )
    Slot.objects.bulk_create(
        _slot(part, position, line, week, exercises[line.exercise])
        for part, (section, _) in zip(parts, sections, strict=True)
        for position, line in enumerate(section.lines)
    )
    return session


def _slot(part: Part, position: int, line: Line, week: int, exercise: Exercise) -> Slot:
    revision = exercise.current
    assert revision is not None  # noqa: S101 -- published exercises have one, by constraint
    amount = line.amount + line.grows * (week // 2)
    return Slot(
        part=part,
        position=position,
        exercise=exercise,
        amount=min(amount, revision.high),
        tempo=revision.tempo,
        rule=line.rule,
    )


WHY_IT_GOES_OUT: Final = "At the venue I watch each of them land before it is done at home."


def publish_until(sessions: Sequence[Session], last: dt.date, by: User) -> None:
    """Publish what is dated up to that day, as of the Saturday before its week."""
    for session in sessions:
        if session.date <= last:
            monday = monday_of(session.date)
            publish(session, by, _moment(monday - dt.timedelta(days=2), 10), WHY_IT_GOES_OUT)


def write_history(
    children: Sequence[Child],
    traits: dict[int, Traits],
    first_monday: dt.date,
    today: dt.date,
    seen_by: User,
    chance: random.Random,
) -> None:
    """What came back of every session before today: from home by a parent, from the venue by a
    coach for the whole group."""
    past = AssignedSession.objects.filter(date__lt=today).with_slots().order_by("date", "pk")
    logs = [
        (assigned, log)
        for assigned in past
        if (log := _simulate(assigned, traits[assigned.child_id], first_monday, chance))
    ]
    tellers = _tellers(children, [assigned for assigned, _ in logs], seen_by)
    completions = Completion.objects.bulk_create(
        _completion(assigned, log, tellers[assigned.pk]) for assigned, log in logs
    )
    SlotResult.objects.bulk_create(
        result
        for completion, (_, log) in zip(completions, logs, strict=True)
        for result in _results(completion, log)
    )
    PainReport.objects.bulk_create(_pain_reports(logs, tellers, seen_by, today))
    started = [assigned for assigned, log in logs if log.state != "not"]
    for assigned in started:
        assigned.started_at = _moment(assigned.date, 17)
    AssignedSession.objects.bulk_update(started, ["started_at"], batch_size=2000)


def spare_what_hurts(today: dt.date) -> None:
    """What was published before a report is chosen anew, as the worker would after it."""
    hurting = Child.objects.filter(pk__in=PainReport.objects.unanswered().values("child"))
    for child in hurting.order_by("pk"):
        refit(child, Circumstance.PAIN, _moment(today, 7), today)


def _tellers(
    children: Sequence[Child], sessions: Sequence[AssignedSession], stand_in: User
) -> dict[int, User | None]:
    """Who tells of each session, by its id: at the venue the cohort's coach, at home a guardian."""
    guardians = {child.pk: child.guardians.first() for child in children}
    coaches = {cohort.pk: cohort.coaches.first() or stand_in for cohort in Cohort.objects.all()}
    return {
        each.pk: coaches[each.session.block.cohort_id]
        if each.place == Place.VENUE
        else guardians[each.child_id]
        for each in sessions
    }


def _completion(assigned: AssignedSession, log: SessionLog, teller: User | None) -> Completion:
    return Completion(
        assigned_session=assigned,
        state=log.state,
        absence=log.absence,
        done_on=None if log.state == CompletionState.NOT_DONE else assigned.date,
        effort=log.effort,
        enjoyment=log.enjoyment,
        minutes=log.minutes,
        note=log.note,
        logged_at=_moment(assigned.date, 18),
        logged_by=teller,
    )


def _results(completion: Completion, log: SessionLog) -> Iterator[SlotResult]:
    for slot in log.slots:
        yield SlotResult(
            completion=completion,
            assigned_slot_id=slot.key,
            state=slot.state,
            amount=slot.amount,
            amount_left=slot.left,
            amount_right=slot.right,
        )


def _simulate(
    assigned: AssignedSession, traits: Traits, first_monday: dt.date, chance: random.Random
) -> SessionLog | None:
    slots = tuple(
        SimulatedSlot(
            slot.pk,
            slot.amount,
            is_sided=slot.revision.sides == "each",
            lands=slot.revision.lands,
        )
        for slot in assigned.slots.all()
    )
    week = (assigned.date - first_monday).days // 7
    log = log_of(traits, slots, week, assigned.seconds, chance)
    if assigned.place == Place.VENUE:
        return as_the_coach_logs_it(log, assigned.session.target_minutes)
    return log


def _pain_reports(
    logs: Sequence[tuple[AssignedSession, SessionLog]],
    tellers: dict[int, User | None],
    seen_by: User,
    today: dt.date,
) -> Iterator[PainReport]:
    """Reports older than a week have been seen."""
    for assigned, log in logs:
        if log.pain:
            seen_on = assigned.date + A_WEEK
            yield PainReport(
                child=assigned.child,
                assigned_session=assigned,
                revision=next(s.revision for s in assigned.slots.all() if s.pk == log.pain.key),
                region="knee",
                side=log.pain.side,
                level=log.pain.level,
                note=log.pain.note,
                reported_at=_moment(assigned.date, 18),
                reported_by=tellers[assigned.pk],
                answered_at=_moment(seen_on, 9) if seen_on < today else None,
                answered_by=seen_by if seen_on < today else None,
            )


def _moment(day: dt.date, hour: int) -> dt.datetime:
    return timezone.make_aware(dt.datetime.combine(day, dt.time(hour)))
