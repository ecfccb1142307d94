"""Does what is written stay within what is sensible for children? Each check is one function.

A check says one sentence, with its numbers and where its limit comes from. No check diagnoses or
forbids: the coach, qualified supervision and local rules decide.
"""

from typing import Final

from program.engine.checks import block, session, week
from program.engine.checks.block import CheckedBlock, block_findings
from program.engine.checks.rules import (
    USUAL,
    Finding,
    Level,
    Limit,
    Rule,
    Setting,
    Settings,
    most_urgent_first,
)
from program.engine.checks.session import CheckedSession, CheckedSlot, session_findings
from program.engine.checks.week import CheckedWeek, DayOfWork, week_findings

RULES: Final[dict[str, Rule]] = {
    rule.code: rule
    for rules in (session.CHECKS, week.CHECKS, block.CHECKS)
    for rule in (each.rule for each in rules)
}
"""Every rule by its code, in the order in which they are shown."""

__all__ = [
    "RULES",
    "USUAL",
    "CheckedBlock",
    "CheckedSession",
    "CheckedSlot",
    "CheckedWeek",
    "DayOfWork",
    "Finding",
    "Level",
    "Limit",
    "Rule",
    "Setting",
    "Settings",
    "block_findings",
    "most_urgent_first",
    "session_findings",
    "week_findings",
]
