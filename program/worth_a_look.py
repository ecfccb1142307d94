"""The facts that the checks ask for, in a fixed number of queries."""

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Sequence

from athletes.models import Child, HomeKit, Placement
from program.circumstances import contact_ceiling
from program.engine.checks import CheckedSession, CheckedSlot, Finding, findings
from program.engine.fit_limits import USUAL_HOME_KIT
from program.models import Place, Session, Slot
from program.plan import Plan, plan_of
from program.who_gets_what import children_of

TWO_WEEKS = dt.timedelta(weeks=2)
WARM_UP_WORD = "warm"


def worth_a_look(session: Session) -> tuple[Finding, ...]:
    """What the checks find; `session` is fetched `with_plan()`."""
    return findings(_facts(session, plan_of(session), children_of(session)))


def _facts(session: Session, plan: Plan, children: Sequence[Child]) -> CheckedSession:
    nearby = _nearby(session)
    return CheckedSession(
        slots=tuple(_slots(plan)),
        seconds=plan.seconds,
        target_minutes=session.target_minutes,
        is_at_home=session.place == Place.HOME,
        warm_up_seconds=_warm_up_seconds(plan),
        lowest_ceiling=min(
            (contact_ceiling(child.age_on(session.date)) for child in children), default=None
        ),
        not_placed_on_landing=len(children) - _placed_on_landing(children),
        lacking=_lacking(session, children),
        families=len(children),
        days=frozenset(day for day, _ in nearby if _same_week(day, session.date)),
        recent_patterns=_recent_patterns(session, nearby),
    )


def _slots(plan: Plan) -> Iterator[CheckedSlot]:
    for part in plan.parts:
        for slot in part.slots:
            if slot.dose and slot.revision:
                revision = slot.revision
                yield CheckedSlot(
                    revision.name, revision.pattern, slot.dose, part.rounds, revision.watch
                )


def _warm_up_seconds(plan: Plan) -> int | None:
    """How long the first part takes, if that is what its name says it is."""
    if not plan.parts or WARM_UP_WORD not in plan.parts[0].name.lower():
        return None
    return plan.part_seconds.get(plan.parts[0].key, 0)


def _placed_on_landing(children: Sequence[Child]) -> int:
    placed = Placement.objects.current().filter(child__in=children, pathway__pattern="land")
    return placed.values("child").distinct().count()


def _lacking(session: Session, children: Sequence[Child]) -> dict[str, int]:
    """Families at whose home a need of the session is not met, by need."""
    answered = HomeKit.objects.filter(child__in=children).prefetch_related("items")
    kits = {kit.child_id: {item.slug for item in kit.items.all()} for kit in answered}
    homes = [kits.get(child.pk, USUAL_HOME_KIT) for child in children]
    lacking: Counter[str] = Counter()
    for what, items in _needs(session).items():
        lacking[what] = sum(items.isdisjoint(home) for home in homes)
    return dict(lacking)


def _needs(session: Session) -> dict[str, frozenset[str]]:
    return {
        need.what: frozenset(item.slug for item in need.items.all())
        for part in session.parts.all()
        for slot in part.slots.all()
        if slot.exercise.current
        for need in slot.exercise.current.needs.all()
    }


def _nearby(session: Session) -> list[tuple[dt.date, str | None]]:
    """Day and pattern of what the cohort has, from two weeks before to the end of this week."""
    week_ends = session.date + dt.timedelta(days=6 - session.date.weekday())
    slots = Slot.objects.filter(
        part__session__block__cohort=session.block.cohort,
        part__session__date__range=(session.date - TWO_WEEKS, week_ends),
    )
    rows = slots.values_list("part__session__date", "exercise__current__pattern").distinct()
    return list(rows)


def _same_week(day: dt.date, other: dt.date) -> bool:
    return day.isocalendar()[:2] == other.isocalendar()[:2]


def _recent_patterns(
    session: Session, nearby: Sequence[tuple[dt.date, str | None]]
) -> frozenset[str] | None:
    if not any(day <= session.date - TWO_WEEKS + dt.timedelta(days=6) for day, _ in nearby):
        return None
    return frozenset(pattern for day, pattern in nearby if pattern and day <= session.date)
