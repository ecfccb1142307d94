"""A finding: one thing that wants a coach's decision, what it rests on, and what can be done."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Final, NamedTuple

from django.urls import reverse

from library.shared.dates import short_weekday_and_date
from library.shared.lanes import Lane
from program.models.resolutions import Do, Kind
from program.review.children import Asked, Who

if TYPE_CHECKING:
    import uuid

    from program.models import Resolution


URGENCY: Final = tuple(Kind)
TAGS: Final = {
    Kind.PAIN: ("stop", "hurts"),
    Kind.QUESTION: ("note", "asks"),
    Kind.RESTRICTION: ("look", "restriction"),
    Kind.WAY_BACK: ("look", "coming back"),
    Kind.DECIDE: ("look", "waits"),
    Kind.GROWTH: ("look", "grows"),
    Kind.EFFORT: ("look", "hard"),
    Kind.SPORT: ("look", "sport"),
    Kind.STEP_BACK: ("look", "too hard"),
    Kind.MISSED: ("look", "quiet"),
    Kind.SIDES: ("look", "sides"),
    Kind.CHANGED: ("note", "changed"),
    Kind.MOVE_ON: ("good", "ready"),
    Kind.ADD: ("good", "more"),
    Kind.RATINGS: ("note", "ratings"),
    Kind.MEASURE: ("note", "height"),
    Kind.FAMILY: ("note", "not signed in"),
    Kind.CONSENT: ("note", "not answered"),
}
PAGES: Final = {
    Kind.GROWTH: "athletes:growth",
    Kind.MEASURE: "athletes:growth",
    Kind.FAMILY: "athletes:invite_family",
}
"""Of a child, where one looks more closely; at its review where nothing else is said."""
SECONDS: Final = {Kind.PAIN: 90, Kind.QUESTION: 90, Kind.DECIDE: 75}
SECONDS_OTHERWISE: Final = 20
"""What a decision takes a coach, roughly, to say how long the queue is."""


@dataclass(frozen=True)
class Action:
    """A button. `target` is the exercise for PLACE, for ADD how much more by placement, as
    "12.2,15.5", for sparing a place the exercises left out by name, as "lunge,hop", for GO_TO the
    step and for LIGHTER its first day; `days` is
    how long the finding then stays away, None for good; LOOK leads to the finding's `url` and
    decides nothing. With `wants_reason` it says why, in words. `for_all` is its label where it may
    be taken for many children in one press, "" where it is taken one by one."""

    do: Do
    label: str
    target: str = ""
    days: int | None = None
    wants_reason: bool = False
    for_all: str = ""

    @property
    def code(self) -> str:
        return f"{self.do}:{self.target}" if self.target else str(self.do)


class Log(NamedTuple):
    """A logged session that a finding rests on."""

    on: dt.date
    session: "uuid.UUID"

    @property
    def day(self) -> str:
        return short_weekday_and_date(self.on)


@dataclass(frozen=True)
class Finding:
    """`subjects` are the ids of what it is about: reports, a restriction, a placement, a session.
    Keys differ among the findings of one child. `drawn` lays the evidence out once it is shown.
    `logs` are those it rests on, and no others, oldest first. `handed` says which coach it was
    handed to, by whom and when. `alike` is the headline under which it stands with equal findings
    of other children, to be answered together; "" for what is answered one by one, as all that
    concerns a child's health is."""

    key: str
    kind: Kind
    who: Who
    subjects: tuple[int, ...]
    headline: str
    evidence: tuple[str, ...]
    actions: tuple[Action, ...]
    on: dt.date
    logs: tuple[Log, ...] = ()
    drawn: Callable[[], Lane] | None = field(default=None, compare=False)
    weight: int = 0  # among those of one kind, the larger first
    handed: "Resolution | None" = field(default=None, compare=False)
    alike: str = ""

    @cached_property
    def lane(self) -> Lane | None:
        return self.drawn() if self.drawn else None

    @property
    def tag(self) -> str:
        return TAGS[self.kind][0]

    @property
    def word(self) -> str:
        return TAGS[self.kind][1]

    @property
    def url(self) -> str:
        """Where one looks more closely."""
        if self.url_for_all:
            return f"{self.url_for_all}#child-{self.who.child.public_id}"
        page = PAGES.get(self.kind, "program:child_review")
        return reverse(page, args=[self.who.child.public_id])

    @property
    def url_for_all(self) -> str:
        """Where it is decided for several children, as a session that waits is; "" where each has a
        page of its own."""
        if self.kind is not Kind.DECIDE:
            return ""
        return reverse("program:who_gets_what", args=self.subjects) + "?different"

    @property
    def asked(self) -> Asked | None:
        """The question it is about, if it is one."""
        about = self.subjects[0] if self.takes_words else None
        return next((each for each in self.who.asked if each.pk == about), None)

    @property
    def alone(self) -> tuple["Finding", ...]:
        """For what is done for several."""
        return (self,)

    @property
    def is_invited(self) -> bool:
        """Whether the family’s invitation can be sent again."""
        return any(each.do is Do.INVITE_AGAIN for each in self.actions)

    @property
    def is_pressing(self) -> bool:
        """Whether it may be put off for a few days only."""
        return self.kind is Kind.PAIN

    @property
    def buttons(self) -> list[Action]:
        return [
            each
            for each in self.actions
            if not each.wants_reason and each.do is not Do.INVITE_AGAIN
        ]

    @property
    def with_reasons(self) -> list[Action]:
        return [each for each in self.actions if each.wants_reason]

    @property
    def takes_words(self) -> bool:
        """Whether it is answered in the coach's own words."""
        return self.kind is Kind.QUESTION

    @property
    def reason(self) -> str:
        """Why, as it is kept with what is done about it."""
        return (self.evidence[0] if self.evidence else self.headline)[:200]

    @property
    def seconds(self) -> int:
        return SECONDS.get(self.kind, SECONDS_OTHERWISE)

    def action(self, code: str) -> Action | None:
        return next((each for each in self.actions if each.code == code), None)

    def action_for_all(self, label: str) -> Action | None:
        """The one that may be taken for many children under this label."""
        return next((each for each in self.actions if each.for_all and each.for_all == label), None)

    @property
    def order(self) -> tuple[int, int, dt.date, str]:
        return URGENCY.index(self.kind), -self.weight, self.on, self.key


SHOWN: Final = 5
"""How many sessions stand in a lane of evidence."""

LOOK_AT_THE_LOGS: Final = Action(Do.LOOK, "Look at the logs")
