"""What comes next in a new program, with what is left of it. Computed, not stored: one query beside
those of the week."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from django.db.models import Exists, Min, OuterRef
from django.urls import reverse
from django.utils import timezone

from athletes.family_state import FamilyState
from athletes.models import Cohort
from program.engine.wording import listed
from program.models import Block, Session
from program.week.page import Week

if TYPE_CHECKING:
    from athletes.models import User

IS_NEW: Final = dt.timedelta(weeks=4)
"""How long after its first published session a program still reads what is left. A house rule."""

NONE_YET: Final = "none yet"


@dataclass(frozen=True)
class Step:
    """`left` is what of it is to be done, "" for nothing."""

    name: str
    left: str
    url: str
    action: str


@dataclass(frozen=True)
class Steps:
    """In the order in which they are taken."""

    steps: Sequence[Step] = ()

    @property
    def left(self) -> list[Step]:
        return [step for step in self.steps if step.left]

    @property
    def done(self) -> str:
        """Their names, in words."""
        names = [step.name.lower() for step in self.steps if not step.left]
        return listed(names) if names else ""


def first_steps(user: "User", week: Week) -> Steps:
    """For a head coach, until all is done or the program has run for some weeks; else none."""
    if not user.is_head_coach or not week.is_now:
        return Steps()
    cohorts = _cohorts(user, week.today)
    began = min((each.began for each in cohorts if each.began), default=None)
    if began and began < timezone.now() - IS_NEW:
        return Steps()
    return Steps([*_people(week), *_sessions(cohorts)])


def _cohorts(user: "User", today: dt.date) -> list[Any]:
    """Each with whether it has a block, a session in one, and what was published first."""
    blocks = Block.objects.filter(cohort=OuterRef("pk"), ends_on__gte=today)
    sessions = Session.objects.filter(block__cohort=OuterRef("pk"), block__ends_on__gte=today)
    return list(
        Cohort.objects.visible_to(user).annotate(
            has_block=Exists(blocks),
            has_session=Exists(sessions),
            began=Min("blocks__sessions__published_at"),
        )
    )


def _people(week: Week) -> Iterable[Step]:
    cohorts = week.cohorts
    children = {each.child.pk: each for one in cohorts for each in one.enrolled}.values()
    list_page, count = reverse("athletes:children"), len(children)
    yield Step(
        "Cohorts", "" if cohorts else NONE_YET, reverse("athletes:new_cohort"), "Make a cohort"
    )
    empty = sum(not each.enrolled for each in cohorts)
    without = f"{empty} of {len(cohorts)} cohorts without any" if empty else ""
    yield Step(
        "Children",
        without if count else NONE_YET,
        reverse("athletes:import"),
        "Add children from a file",
    )
    missing = sum(each.family is not FamilyState.HERE for each in children)
    yield Step("Families", _left(missing, count, "not signed in"), list_page, "Invite families")
    unanswered = sum(not each.has_kit for each in children)
    yield Step(
        "What is at home",
        _left(unanswered, count, "not answered"),
        reverse("athletes:all_kits"),
        "Say what is there",
    )
    unplaced = sum(not each.is_placed for each in children)
    yield Step(
        "Placement",
        _left(unplaced, count, "not placed"),
        reverse("athletes:all_placements"),
        "Place children",
    )


def _sessions(cohorts: list[Any]) -> Iterable[Step]:
    count = len(cohorts)
    blocks = reverse("program:blocks")
    lacking = sum(not each.has_block for each in cohorts)
    yield Step("Block", _without(lacking, count), reverse("program:block_new"), "Make a block")
    unwritten = sum(not each.has_session for each in cohorts)
    yield Step("Session", _without(unwritten, count), blocks, "Write a session")
    unsent = sum(not each.began for each in cohorts)
    ahead = reverse("program:week_ahead")
    yield Step("Published", _without(unsent, count), ahead, "Publish the week")


def _left(missing: int, count: int, what: str) -> str:
    if not count:
        return NONE_YET
    return f"{missing} of {count} {what}" if missing else ""


def _without(lacking: int, count: int) -> str:
    return _left(lacking, count, "cohorts without one")
