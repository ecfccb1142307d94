"""What comes next in a new program, with what is left of it: on the first page all of it, on the
page of each step that step and the one after it. Computed, not stored."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from django.db.models import Exists, OuterRef
from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import SimpleLazyObject

from athletes.family_state import FamilyState
from athletes.models import Cohort
from program.engine.wording import listed
from program.models import Block, Session
from program.week.enrolled import Enrolled, enrolled_by_cohort

if TYPE_CHECKING:
    from athletes.models import User

IS_NEW: Final = dt.timedelta(weeks=4)
"""How long after its first published session a program still reads what is left. A house rule."""

NONE_YET: Final = "none yet"

COHORTS, CHILDREN, FAMILIES = "Cohorts", "Children", "Families"
KITS, PLACEMENT = "What is at home", "Placement"
BLOCK, SESSION, PUBLISHED = "Block", "Session", "Published"
ABOUT_SESSIONS: Final = frozenset({BLOCK, SESSION, PUBLISHED})

STEPS_AT: Final[Mapping[str, Sequence[str]]] = {
    "athletes:new_cohort": [COHORTS],
    "athletes:people": [COHORTS],
    "athletes:edit_cohort": [COHORTS],
    "athletes:import": [CHILDREN],
    "athletes:import_preview": [CHILDREN],
    "athletes:new_child": [CHILDREN],
    "athletes:children": [CHILDREN, FAMILIES],
    "athletes:invite_family": [FAMILIES],
    "athletes:all_kits": [KITS],
    "athletes:kits": [KITS],
    "athletes:all_placements": [PLACEMENT],
    "athletes:placements": [PLACEMENT],
    "athletes:place_group": [PLACEMENT],
    "athletes:starting_profile": [PLACEMENT],
    "program:block_new": [BLOCK],
    "program:blocks": [BLOCK],
    "program:session_new": [SESSION],
    "program:build": [SESSION, PUBLISHED],
    "program:week_ahead": [PUBLISHED],
}
"""Which steps are taken on a page, by the name of its address. A block's board and who gets what
lead on by buttons of their own."""


@dataclass(frozen=True)
class Step:
    """`left` is what of it is to be done, "" for nothing."""

    name: str
    left: str
    url: str
    action: str


@dataclass(frozen=True)
class Here:
    """The step of a page, and the one that comes after it; none where all after it are done."""

    step: Step
    next: Step | None


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

    def at(self, page: str) -> Here | None:
        """For the page of a step, by the name of its address, once it has begun and until it and
        all that come after it are done."""
        here = [step for step in self.steps if step.name in STEPS_AT[page]]
        step = next((each for each in here if each.left), here[-1] if here else None)
        if step is None or step.left == NONE_YET:
            return None
        after = next((each for each in self.left if self._place(each) > self._place(step)), None)
        return Here(step, after) if step.left or after else None

    def _place(self, step: Step) -> int:
        return self.steps.index(step)


def first_steps(
    user: "User", today: dt.date, enrolled: Mapping[int, Sequence[Enrolled]] | None = None
) -> Steps:
    """For a head coach, until all is done or the program has run for some weeks, which one query
    tells; else none. In two queries, or in that one where it is known who is `enrolled` today, by
    the cohort's key."""
    cohorts = _cohorts(user, today) if user.is_head_coach else []
    if not user.is_head_coach or _has_run_for_weeks(cohorts):
        return Steps()
    if enrolled is None:
        enrolled = enrolled_by_cohort(user, cohorts, today, today)
    return Steps([*_people(cohorts, enrolled), *_sessions(cohorts)])


def step_at(user: "User", today: dt.date, page: str) -> Here | None:
    """For a head coach, the step of a page, by the name of its address. What comes after a step
    about sessions is about sessions, too: there it does without the children, in one query."""
    if not ABOUT_SESSIONS.issuperset(STEPS_AT[page]):
        return first_steps(user, today).at(page)
    cohorts = _cohorts(user, today)
    return Steps([] if _has_run_for_weeks(cohorts) else [*_sessions(cohorts)]).at(page)


def step_here(request: HttpRequest) -> dict[str, Any]:
    """For every template: of a new program, where a head coach is and what comes next."""
    page = request.resolver_match.view_name if request.resolver_match else ""
    user: Any = getattr(request, "user", None)
    if page not in STEPS_AT or not getattr(user, "is_head_coach", False):
        return {}
    return {"step_here": SimpleLazyObject(lambda: step_at(user, timezone.localdate(), page))}


def _has_run_for_weeks(cohorts: Iterable[Any]) -> bool:
    return any(each.has_run_for_weeks for each in cohorts)


def _cohorts(user: "User", today: dt.date) -> list[Any]:
    """Each with whether it has a block, a session in one, and whether any was published; and
    whether any of the program's was so long ago that it is new no more."""
    blocks = Block.objects.filter(cohort=OuterRef("pk"), ends_on__gte=today)
    sessions = Session.objects.filter(block__cohort=OuterRef("pk"), block__ends_on__gte=today)
    published = Session.objects.filter(block__cohort=OuterRef("pk"), published_at__isnull=False)
    return list(
        Cohort.objects.visible_to(user).annotate(
            has_block=Exists(blocks),
            has_session=Exists(sessions),
            has_published=Exists(published),
            has_run_for_weeks=Exists(
                Session.objects.filter(published_at__lt=timezone.now() - IS_NEW)
            ),
        )
    )


def _people(
    cohorts: Sequence[Cohort], enrolled: Mapping[int, Sequence[Enrolled]]
) -> Iterable[Step]:
    children = {each.child.pk: each for group in enrolled.values() for each in group}.values()
    list_page, count = reverse("athletes:children"), len(children)
    yield Step(
        COHORTS, "" if cohorts else NONE_YET, reverse("athletes:new_cohort"), "Make a cohort"
    )
    empty = sum(not enrolled.get(each.pk) for each in cohorts)
    without = f"{empty} of {len(cohorts)} cohorts without any" if empty else ""
    yield Step(
        CHILDREN,
        without if count else NONE_YET,
        reverse("athletes:import"),
        "Add children from a file",
    )
    missing = sum(each.family is not FamilyState.HERE for each in children)
    yield Step(FAMILIES, _left(missing, count, "not signed in"), list_page, "Invite families")
    unanswered = sum(not each.has_kit for each in children)
    yield Step(
        KITS,
        _left(unanswered, count, "not answered"),
        reverse("athletes:all_kits"),
        "Say what is at home",
    )
    unplaced = sum(not each.is_placed for each in children)
    yield Step(
        PLACEMENT,
        _left(unplaced, count, "not placed"),
        reverse("athletes:all_placements"),
        "Place children",
    )


def _sessions(cohorts: list[Any]) -> Iterable[Step]:
    count = len(cohorts)
    blocks = reverse("program:blocks")
    lacking = sum(not each.has_block for each in cohorts)
    yield Step(BLOCK, _without(lacking, count), reverse("program:block_new"), "Make a block")
    unwritten = sum(not each.has_session for each in cohorts)
    yield Step(SESSION, _without(unwritten, count), blocks, "Write a session")
    unsent = sum(not each.has_published for each in cohorts)
    ahead = reverse("program:week_ahead")
    yield Step(PUBLISHED, _without(unsent, count), ahead, "Publish the week")


def _left(missing: int, count: int, what: str) -> str:
    if not count:
        return NONE_YET
    return f"{missing} of {count} {what}" if missing else ""


def _without(lacking: int, count: int) -> str:
    return NONE_YET if lacking == count else _left(lacking, count, "cohorts without one")
