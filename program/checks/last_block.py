"""What each check would have said over a cohort's last block, with its limit as it stands today and
by what is known of the children today; what is switched off tells what it would have said."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from athletes.models import Cohort, User
from library.shared.dates import short_weekday_and_date
from program.checks.block_checks import BlockResults, results_for_block
from program.checks.naming import with_names
from program.checks.session_checks import KeptResult
from program.checks.settings import SetRule, all_rules
from program.common.session_plan import plan_of
from program.engine.checks import CheckResult
from program.engine.wording import listed
from program.models import Block, Session


@dataclass(frozen=True)
class Said:
    """A sentence, whom it means, and in which sessions or weeks; no `where` for the whole block."""

    sentence: str
    who: str
    places: tuple[str, ...]

    @property
    def where(self) -> str:
        return listed(self.places) if any(self.places) else ""


@dataclass(frozen=True)
class RuleOverBlock:
    """A rule as it holds here, and what it would have said."""

    held: SetRule
    said: tuple[Said, ...] = ()

    @property
    def times(self) -> int:
        return sum(len(each.places) for each in self.said)


@dataclass(frozen=True)
class RulesOverBlock:
    """Every rule over a block, which may be missing; `cohorts` are those to choose from."""

    rows: Sequence[RuleOverBlock]
    cohorts: Sequence[Cohort]
    cohort: Cohort | None
    block: Block | None


class NoSuchCohort(Exception):
    """It is none of this coach's."""


def rules_over_last_block(user: User, chosen: int | None, today: dt.date) -> RulesOverBlock:
    """Over the last block, begun by today, of the chosen cohort, or of the first that has one.
    Raises NoSuchCohort. A fixed number of queries."""
    cohorts = list(Cohort.objects.visible_to(user))
    mine = [each for each in cohorts if chosen in {None, each.pk}]
    if chosen is not None and not mine:
        raise NoSuchCohort
    begun = Block.objects.filter(cohort__in=mine, starts_on__lte=today).select_related("cohort")
    of_each = begun.order_by("cohort_id", "-starts_on", "-pk").distinct("cohort_id")
    last = sorted(of_each, key=lambda block: cohorts.index(block.cohort))
    block = last[0] if last else None
    said = _said_over(block, user) if block else {}
    cohort = block.cohort if block else next(iter(mine), None)
    rows = [RuleOverBlock(held, tuple(said.get(held.rule.code, ()))) for held in all_rules()]
    return RulesOverBlock(rows, cohorts, cohort, block)


def _said_over(block: Block, user: User) -> Mapping[str, Sequence[Said]]:
    """By code, each sentence once, in the order of their first sessions and weeks."""
    sessions = list(Session.objects.with_plan().filter(block=block).taking_place())
    plans = {session.pk: plan_of(session) for session in sessions}
    results = results_for_block(block, sessions, plans, with_switched_off=True)
    found = list(_found(results, sessions))
    named = with_names([KeptResult(result) for _, result in found], user)
    places: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for (where, result), kept in zip(found, named, strict=True):
        places[result.code, result.sentence, kept.who].append(where)
    said: dict[str, list[Said]] = defaultdict(list)
    for (code, sentence, who), found_in in places.items():
        said[code].append(Said(sentence, who, tuple(found_in)))
    return said


def _found(results: BlockResults, sessions: Sequence[Session]) -> Iterator[tuple[str, CheckResult]]:
    for session in sessions:
        for result in results.of_session(session.pk):
            yield short_weekday_and_date(session.date), result
    for number in sorted(results.by_week):
        for result in results.of_week(number):
            yield f"week {number}", result
    for result in results.of_block:
        yield "", result
