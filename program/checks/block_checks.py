"""The checks and the volumes of a whole block, in three queries however long it is."""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from program.checks.childrens_work import Written, since, written_for
from program.checks.cohort_facts import cohort_facts
from program.checks.session_checks import facts_of
from program.common.session_plan import Plan
from program.common.volume_tables import WeeksSheet, weeks_sheet
from program.engine.checks import (
    CheckedBlock,
    CheckedWeek,
    CheckResult,
    DayOfWork,
    Level,
    Setting,
    WorkByDay,
    check_block,
    check_session,
    check_week,
)
from program.engine.volume import Volume, by_week
from program.engine.weeks import week_end
from program.models import Block, Session


@dataclass(frozen=True)
class BlockResults:
    """What the checks find, by session, by week and over the block; and each week's volume."""

    block: Block
    by_session: Mapping[int, tuple[CheckResult, ...]]
    by_week: Mapping[int, tuple[CheckResult, ...]]
    of_block: tuple[CheckResult, ...]
    volumes: tuple[Volume, ...]
    week_of_session: Mapping[int, int]

    def of_session(self, pk: int) -> tuple[CheckResult, ...]:
        return self.by_session.get(pk, ())

    def of_week(self, number: int) -> tuple[CheckResult, ...]:
        return self.by_week.get(number, ())

    @cached_property
    def sheet(self) -> WeeksSheet:
        """What the weeks add up to, for `board/volumes.html`."""
        return weeks_sheet(self.volumes)

    def stops(self, pk: int) -> tuple[CheckResult, ...]:
        """Why a session cannot go out without a written reason: its own stops and its week's."""
        of_week = self.of_week(self.week_of_session.get(pk, 0))
        return tuple(each for each in (*self.of_session(pk), *of_week) if each.level is Level.STOP)


def results_for_block(
    block: Block,
    sessions: Sequence[Session],
    plans: Mapping[int, Plan],
    *,
    with_switched_off: bool = False,
) -> BlockResults:
    """`sessions` are all of the block's, `plans` theirs by primary key; their exercises' needs are
    fetched. Sessions are looked at as they are written: nobody fits a whole block for its board.
    What checks that are switched off would find comes along if wished."""
    cohort, first, last = block.cohort, block.starts_on, week_end(block.ends_on)
    here = [Written.of(session, plans[session.pk]) for session in sessions]
    taking_place = (each for each, of in zip(here, sessions, strict=True) if not of.is_called_off)
    written = [*written_for([cohort.pk], since(first), last, but=block), *taking_place]
    near = cohort_facts(cohort, first, last, written)
    people, settings = near.people, near.settings
    if with_switched_off:
        settings = {code: Setting(limit=each.limit) for code, each in settings.items()}
    work = WorkByDay(each.day for each in written if each.cohort == cohort.pk)
    by_day: dict[dt.date, list[DayOfWork]] = defaultdict(list)
    for day in work.days:
        by_day[day.on].append(day)
    starts = [block.week_starts(number) for number in range(1, block.weeks + 1)]
    volumes = tuple(by_week(((day.on, day.volume) for day in here), block.starts_on, block.weeks))
    weeks = [CheckedWeek(each, work, people.in_week(each)) for each in starts]
    return BlockResults(
        block=block,
        by_session={
            session.pk: check_session(
                facts_of(session, plans[session.pk], people, by_day[session.date]), settings
            )
            for session in sessions
        },
        by_week={number: check_week(week, settings) for number, week in enumerate(weeks, start=1)},
        of_block=check_block(CheckedBlock(volumes), settings),
        volumes=volumes,
        week_of_session={session.pk: block.week_of(session.date) for session in sessions},
    )
