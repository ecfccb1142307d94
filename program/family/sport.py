"""Sport outside the program on the family's pages: the question, a week that differs, and what is
published about hours and days off."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from athletes.models import Child
from program.common.sport import ChildSport, days_in_words
from program.common.wording import number
from program.engine.sport import Different, Sport, WholeWeek
from program.engine.weeks import A_WEEK, monday_of

AS_USUAL: Final = "usual"
WORDS: Final = {
    Different.MORE: "more",
    Different.LESS: "less",
    Different.NOTHING: "none",
}
WEEKS_AHEAD: Final = 12
"""How far ahead a week may be said to differ: a holiday or a tournament is known by then."""

PUT_OFF_FOR: Final = dt.timedelta(days=14)
PUT_OFF: Final = "sport_put_off"
"""Where a sign-in keeps until when it does not want to be asked, by child."""


def may_differ(monday: dt.date, today: dt.date) -> bool:
    """Whether this may be said of the week of that Monday."""
    this_week = monday_of(today)
    return monday == monday_of(monday) and this_week <= monday <= this_week + WEEKS_AHEAD * A_WEEK


class Choice(NamedTuple):
    value: str
    word: str
    is_chosen: bool


@dataclass(frozen=True)
class WeekSport:
    """What the week of a child shows of its sport elsewhere. `may_be_asked` is whether the person
    is of the family and has not put the question off."""

    child: Child
    monday: dt.date
    today: dt.date
    sport: Sport
    may_be_asked: bool

    @property
    def asks(self) -> bool:
        """Whether the question of the season stands here."""
        is_this_week = self.monday == monday_of(self.today)
        return self.may_be_asked and is_this_week and self.sport.is_to_be_asked(self.today)

    @property
    def usual(self) -> str:
        """ "7.5 hours a week, on Mon, Wed and Sat"; "" where nobody has said."""
        usual = self.sport.usual_on(self.monday)
        if usual is None:
            return ""
        if not usual.hours:
            return "none"
        return f"{usual.hours:g} hours a week, on {days_in_words(usual.days)}"

    @property
    def choices(self) -> Sequence[Choice]:
        """What may be said of this week; nothing of one that is over, or too far ahead. Of none
        there is no less."""
        usual = self.sport.usual_on(self.monday)
        if usual is None or not may_differ(self.monday, self.today):
            return ()
        said = self.sport.different.get(self.monday)
        words = WORDS.items() if usual.hours else [(Different.MORE, WORDS[Different.MORE])]
        different = (Choice(how, word, how is said) for how, word in words)
        return (Choice(AS_USUAL, "as usual", said is None), *different)


def told_to_family(name: str, week: WholeWeek) -> list[str]:
    """What is published, where this week's hours or days are a reason to say it."""
    told = []
    if week.is_above_age:
        told.append(
            f"With {week.hours_here:g} hours here, this week has {week.hours:g} hours of sport, at"
            f" {number(week.age)} years. In a study of 1190 young athletes those with more hours a"
            " week than years of age had a serious overuse injury more often (the odds were twice"
            " as high; Jayanthi et al. 2015)."
        )
    if week.has_no_day_off:
        told.append(
            "No day of this week is without sport. Pediatricians advise at least one to two days a"
            " week off organised training (Brenner & Watson 2024)."
        )
    if told:
        told.append(
            f"That is no limit, and says nothing of {name} alone: a reason for family and coach to"
            " talk."
        )
    return told


@dataclass(frozen=True)
class SportPage:
    """The question about a usual week, with what was said before."""

    child: Child
    found: ChildSport

    @property
    def told(self) -> list[str]:
        return told_to_family(self.child.given_name, self.found.week)
