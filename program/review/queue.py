"""The coach's queue as a page: what is open, how long it takes, and what was answered of late."""

import datetime as dt
import uuid
from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

from django.http import Http404

from athletes.loaders import cohort_or_404
from athletes.models import Child, Cohort
from library.shared.ids import whole_number
from program.common.wording import number
from program.engine.weeks import A_WEEK, monday_of
from program.models import CompletionState, Resolution
from program.review.answers import Press, presses
from program.review.children import cohorts_and_children, who_is
from program.review.finding import Finding
from program.review.findings import findings
from program.review.groups import Row, rows_of
from program.review.queries import ReviewRows, review_rows

if TYPE_CHECKING:
    from athletes.models import User

SHOWN: Final = 20
"""How many rows stand on the page at once: a quarter of an hour's, and quickly drawn."""

ANSWERED: Final = 12
"""How many answers are shown below it; all of them are a page away."""


@dataclass(frozen=True)
class Queue:
    """What wants a decision about all children of a coach, or of the cohort whose id is `scope`."""

    read: ReviewRows
    cohorts: tuple[Cohort, ...]
    scope: str = ""

    @property
    def today(self) -> dt.date:
        return self.read.today

    @property
    def tomorrow(self) -> dt.date:
        return self.today + dt.timedelta(days=1)

    @property
    def next_week(self) -> dt.date:
        return self.today + A_WEEK

    @cached_property
    def _open(self) -> list[Finding]:
        return findings(self.read)

    @cached_property
    def findings(self) -> list[Finding]:
        """What waits for this coach: what was handed to them, then what is everybody's."""
        theirs = [each for each in self._open if each.handed and self._is_mine(each.handed)]
        return theirs + [each for each in self._open if each.handed is None]

    @cached_property
    def elsewhere(self) -> list[Finding]:
        """What is with another coach."""
        return [each for each in self._open if each.handed and not self._is_mine(each.handed)]

    def _is_mine(self, handed: Resolution) -> bool:
        return handed.to_id == self.read.reader

    @cached_property
    def rows(self) -> list[Row]:
        """These, equal ones of several children as one."""
        return rows_of(self.findings)

    @property
    def shown(self) -> list[Row]:
        """The most urgent; the rest come up as these are answered."""
        return self.rows[:SHOWN]

    @property
    def more(self) -> int:
        return max(0, len(self.rows) - SHOWN)

    @property
    def hurts(self) -> bool:
        return any(finding.tag == "stop" for finding in self.findings)

    @property
    def headline(self) -> str:
        """ "Seven things, about six minutes"."""
        count = len(self.rows)
        if not count:
            return "Nothing waits for you"
        minutes = max(1, round(sum(each.seconds for each in self.rows) / 60))
        things = f"{number(count).capitalize()} thing{'' if count == 1 else 's'}"
        return f"{things}, about {number(minutes)} minute{'' if minutes == 1 else 's'}"

    @property
    def week(self) -> str:
        """What came of this week so far: "since Monday: 6 done, 2 partly, 1 not done"."""
        monday = monday_of(self.today)
        sessions = (each for rows in self.read.sessions.values() for each in rows)
        counts = Counter(
            each.state
            for each in sessions
            if each.on >= monday and (each.state or each.on < self.today)
        )
        words = {
            CompletionState.DONE: "done",
            CompletionState.PARTLY: "partly",
            CompletionState.NOT_DONE: "not done",
            "": "not logged",
        }
        said = [f"{counts[state]} {word}" for state, word in words.items() if counts[state]]
        return "since Monday: " + (", ".join(said) or "nothing due yet")

    @cached_property
    def answered(self) -> list[Press]:
        return presses(self.read.resolutions)[:ANSWERED]

    def press_of(self, answer: int | None) -> Press | None:
        """What was answered with this answer, by key, if it can be taken back."""
        found = (each for each in presses(self.read.resolutions) if answer in each.keys)
        return next((each for each in found if each.standing), None)

    @property
    def told_of(self) -> list[Child]:
        """Those of whom it says what waits, or what was answered."""
        shown = [one for row in self.shown for one in row.findings]
        waiting = [each.who.child for each in (*shown, *self.elsewhere)]
        return waiting + [child for each in self.answered for child in each.children]


def queue_of(user: "User", today: dt.date, scope: str = "") -> Queue:
    """The queue of all one's children, or of the cohort whose id is the scope; 404 for a cohort
    that is not one's own."""
    everybody = cohorts_and_children(user, today)
    cohorts = tuple(dict.fromkeys(cohort for who in everybody for cohort in who.cohorts))
    if not scope:
        return Queue(review_rows(user, everybody, today, with_left=True), cohorts)
    cohort = cohort_or_404(user, whole_number(scope) or 0)
    those = [who for who in everybody if cohort in who.cohorts]
    return Queue(review_rows(user, those, today), cohorts, str(cohort.pk))


def open_findings(
    user: "User", asked: Collection[tuple[uuid.UUID, str]], today: dt.date
) -> list[Finding]:
    """What is asked under these keys about these children, as it is now, in the order of the queue;
    without what is asked no longer. 404 where a child is not the person's."""
    wanted = {child for child, _ in asked}
    if Child.objects.coached_by(user).filter(public_id__in=wanted).count() != len(wanted):
        raise Http404
    those = [who for who in cohorts_and_children(user, today) if who.child.public_id in wanted]
    found = findings(review_rows(user, those, today))
    return [each for each in found if (each.who.child.public_id, each.key) in asked]


def open_finding(user: "User", child: Child, key: str, today: dt.date) -> Finding | None:
    """What is asked about a child under this key, as it is now; None if it is asked no longer."""
    found = findings(review_rows(user, [who_is(user, child, today)], today), early=True)
    return next((finding for finding in found if finding.key == key), None)
