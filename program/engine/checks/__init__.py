"""Does what is written stay within what is sensible for children? Each check is one function.

A check says one sentence, with its numbers and where its limit comes from. No check diagnoses or
forbids: the coach, qualified supervision and local rules decide.
"""

from typing import Final

from program.engine.checks import block, session, week
from program.engine.checks.block import CheckedBlock, check_block
from program.engine.checks.people import (
    Asked,
    CheckedChild,
    DayOfWork,
    Elsewhere,
    Landings,
    WorkByDay,
)
from program.engine.checks.rules import (
    USUAL,
    CheckResult,
    Level,
    Limit,
    Rule,
    Setting,
    Settings,
    most_urgent_first,
)
from program.engine.checks.session import CheckedSession, CheckedSlot, check_session
from program.engine.checks.week import CheckedWeek, check_week

RULES: Final[dict[str, Rule]] = {
    rule.code: rule
    for checks in (session.CHECKS, week.CHECKS, block.CHECKS)
    for rule in checks.rules
}
"""Every rule by its code, in the order in which they are shown."""

__all__ = [
    "RULES",
    "USUAL",
    "Asked",
    "CheckResult",
    "CheckedBlock",
    "CheckedChild",
    "CheckedSession",
    "CheckedSlot",
    "CheckedWeek",
    "DayOfWork",
    "Elsewhere",
    "Landings",
    "Level",
    "Limit",
    "Rule",
    "Setting",
    "Settings",
    "WorkByDay",
    "check_block",
    "check_session",
    "check_week",
    "most_urgent_first",
]
