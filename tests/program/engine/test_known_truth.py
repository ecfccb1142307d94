"""`program/docs/known-truth.md` says what the rules of today say: the first seasons are simulated
again, and each goal that stands there is met."""

import math
import re

import pytest

from tests.known_truth import DOCUMENT, Row, sides

FIRST = 200
LINE = r"^\| (.+) \| (.+) \| (at most .+|at least .+|–) \| ([\d.]+) % \|$"


def measured() -> list[tuple[str, str, str, float]]:
    """Children, how often what, goal and percent of each line that stands beside a goal."""
    lines = re.findall(LINE, DOCUMENT.read_text(), re.MULTILINE)
    return [(children, asked, goal, float(percent)) for children, asked, goal, percent in lines]


@pytest.mark.parametrize("simulated", [sides.rows], ids=["sides"])
def test_the_document_says_what_the_first_seasons_say(simulated):
    there = {(children, asked): percent for children, asked, _, percent in measured()}
    row: Row
    for row in simulated(FIRST):
        share = there[row.children, row.asked] / 100
        by_chance = 4 * math.sqrt(max(share * (1 - share), 0.005) / FIRST)
        assert abs(row.percent / 100 - share) < by_chance, row


def test_each_goal_is_met():
    goals = [line for line in measured() if line[2] != "–"]
    for children, asked, goal, percent in goals:
        bound = float(re.search(r"[\d.]+", goal)[0])
        met = percent <= bound if goal.startswith("at most") else percent >= bound
        assert met, (children, asked, goal, percent)
    assert len(goals) >= 3
