"""Things that are open, each in one line: what it is, and where it is done."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from django.urls import reverse

from athletes.family_state import FamilyState
from athletes.models import Cohort
from library.shared.dates import short_weekday_and_date
from program.engine.wording import listed, plural
from program.models import PainReport
from program.week.enrolled import Enrolled, with_family

MOST_NAMED: Final = 3
"""Children named one by one before the rest is counted."""


@dataclass(frozen=True)
class WeekNote:
    kind: Literal["stop", "look", "note"]
    word: str
    sentence: str
    url: str
    action: str


def names_in_words(names: Sequence[str]) -> str:
    """ "Ada B., Bo C., Cy D. and 2 more"."""
    named, more = list(names[:MOST_NAMED]), len(names) - MOST_NAMED
    return listed([*named, *([f"{more} more"] if more > 0 else [])])


def queue_of(cohort: Cohort) -> str:
    return f"{reverse('program:review')}?cohort={cohort.pk}"


def pain_notes(places: Sequence[Sequence[PainReport]]) -> Iterator[WeekNote]:
    """One for each place of a child, given with all its reports, the newest first."""
    for reports in places[:MOST_NAMED]:
        yield _pain(reports)
    if (more := len(places) - MOST_NAMED) > 0:
        told = f"{plural(more, 'more report')} of something that hurts."
        yield WeekNote("stop", "hurt", told, reverse("program:review"), "See all")


def _pain(reports: Sequence[PainReport]) -> WeekNote:
    newest = reports[0]
    times = len(reports)
    often = "" if times == 1 else f" Reported {'twice' if times == 2 else f'{times} times'}."
    told = f"{newest.child}: {newest}, {short_weekday_and_date(newest.reported_on)}.{often}"
    url = reverse("program:child_review", args=[newest.child.public_id])
    return WeekNote("stop", "hurt", told, url, "Open")


def waiting_notes(
    cohort: Cohort, children: Sequence[Enrolled], held_later: int
) -> Iterator[WeekNote]:
    """What waits for a decision or an answer in the queue, counted."""
    queue = queue_of(cohort)
    if asked := sum(each.asked for each in children):
        has = "question from a family has" if asked == 1 else "questions from families have"
        yield WeekNote("look", "asks", f"{asked} {has} no answer.", queue, "Answer")
    if over := sum(each.is_over for each in children):
        told = f"For {_children(over)} a restriction is over, and nobody has said what comes next."
        yield WeekNote("look", "over", told, queue, "Decide")
    if held_later:
        wait = "waits" if held_later == 1 else "wait"
        told = (
            f"In the two weeks ahead {_children(held_later)} {wait} for a session that is yours "
            "to decide."
        )
        yield WeekNote("look", "later", told, queue, "Decide")
    if changed := sum(each.is_changed for each in children):
        told = f"Sessions ahead were chosen anew for {_children(changed)}; nobody has checked them."
        yield WeekNote("note", "changed", told, queue, "Open")


def family_notes(cohort: Cohort, children: Sequence[Enrolled]) -> Iterator[WeekNote]:
    """Families that are not here, by what was done about it."""
    queue = queue_of(cohort)
    if lost := with_family(children, FamilyState.UNDELIVERED):
        told = f"The invitation of {_families(len(lost))} could not be delivered."
        yield WeekNote("look", "not reached", told, queue, "Check the address")
    if alone := with_family(children, FamilyState.NOT_INVITED):
        are = "is" if len(alone) == 1 else "are"
        told = f"{_families(len(alone))} {are} not invited yet."
        yield WeekNote("look", "not invited", told, queue, "Invite")
    if late := with_family(children, FamilyState.INVITED, FamilyState.RUN_OUT):
        told = (
            "1 family is invited and has not signed in."
            if len(late) == 1
            else f"{len(late)} families are invited and have not signed in."
        )
        yield WeekNote("note", "not here yet", told, queue, "Send it again")


def _children(count: int) -> str:
    return plural(count, "child", "children")


def _families(count: int) -> str:
    return plural(count, "family", "families")
