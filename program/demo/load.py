"""The demo program, from nothing to a block in its fourth week."""

import datetime as dt
import random
from dataclasses import dataclass

from django.db import transaction

from athletes.models import Child, User
from program.demo import agreeing, ahead, asking, growing, people, reporting, season
from program.demo.scenario import HEAD
from program.demo.simulation import traits_of
from program.engine.weeks import monday_of, week_end


class AlreadyPeopled(Exception):
    """There are children in this database; the demo is never mixed with real ones."""


@dataclass(frozen=True)
class Size:
    """How large a club, for how long; the current week is the one after the first half less one."""

    athletes: int = 40
    weeks: int = 8

    @property
    def weeks_past(self) -> int:
        return max(0, self.weeks // 2 - 1)


@transaction.atomic
def load_demo(size: Size, seed: int, today: dt.date) -> None:
    """Write the whole scenario. The same size, seed and day give the same data.

    Raises AlreadyPeopled where there are children already.
    """
    if Child.objects.exists():
        raise AlreadyPeopled
    chance = random.Random(seed)  # noqa: S311 -- a story, not a secret
    this_monday = monday_of(today)
    first_monday = this_monday - dt.timedelta(weeks=size.weeks_past)
    cohorts = people.write_coaches()
    head = User.objects.get(email=HEAD[1])
    children = people.write_children(cohorts, size.athletes, first_monday, chance)
    people.write_homes(children, chance)
    people.write_sport(children, first_monday, today)
    people.write_placements(children, first_monday, head, chance)
    people.write_way_so_far(children, first_monday, head)
    agreeing.write_answers(children, first_monday)
    growing.write_heights(children, first_monday, seed)
    traits = {
        child.pk: traits_of(number, chance, size.weeks_past)
        for number, child in enumerate(children)
    }
    later = season.days_later(today)
    sessions = season.write_blocks(cohorts, first_monday, size.weeks, later, head)
    ahead.write_holidays(this_monday, head)
    ahead.write_templates(sessions, head)
    season.publish_until(sessions, this_monday - dt.timedelta(days=1), head)
    people.write_circumstances(children, today, head)
    season.publish_until(
        [each for each in sessions if each.date >= this_monday],
        week_end(this_monday),
        head,
    )
    season.write_history(children, traits, first_monday, today, head, chance)
    season.spare_what_hurts(today)
    asking.write_questions(children, today, head)
    reporting.write_moves(children[0], today, head)
    reporting.write_draft(children[0], today)
