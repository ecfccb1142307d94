"""What a coach's queue is made from, read in a fixed number of queries however many children."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from django.db.models import Exists, F, Max, Min, OuterRef, Q, TextField, Value
from django.db.models.functions import Coalesce
from django.utils import timezone

from athletes.growth import TapeError
from athletes.measurements import program_tape
from athletes.models import (
    ConsentPurpose,
    Placement,
    Restriction,
)
from athletes.signals import Circumstance
from program.common.library_snapshot import LibrarySnapshot, library_snapshot, step_tests
from program.engine.attendance import CouldNot, Due, told
from program.engine.days import hardest_of_each_day
from program.engine.dose.dose import Measure
from program.engine.way_back import Thresholds
from program.models import (
    AssignedSession,
    AssignedSlot,
    CompletionState,
    PainReport,
    Refit,
    RefitQuerySet,
    Resolution,
    SafetyRules,
    Session,
    WayBackStep,
    WayBackStepQuerySet,
)
from program.models.resolutions import Do
from program.review.children import Who
from program.review.finding import Log

if TYPE_CHECKING:
    import uuid

    from athletes.models import User

LOOKS_BACK: Final = dt.timedelta(days=42)
SIDES_LOOK_BACK: Final = dt.timedelta(weeks=16)
"""A season: left and right are compared over eight readings or more (`engine.balance`), and of one
exercise there may be one in two weeks."""
LOOKS_AHEAD: Final = dt.timedelta(days=14)
A_YEAR: Final = dt.timedelta(days=366)
REMEMBERS: Final = dt.timedelta(days=90)
"""How long an answer is looked at: longer than anything that is answered stays in sight. What a
family would rather not is never asked again."""


class SessionRow(NamedTuple):
    """An assigned session of the last weeks and what was said of it."""

    pk: int
    public_id: "uuid.UUID"
    child_id: int
    on: dt.date
    name: str
    log: int | None
    state: str
    effort: int | None
    note: str
    absence: str
    hurt: bool
    noted: bool
    done_on: dt.date | None

    @property
    def felt_on(self) -> dt.date:
        """The day it was done; of one that was not, its own."""
        return self.done_on or self.on

    @property
    def rating(self) -> int:
        """The effort of one that was rated."""
        return self.effort or 0

    @property
    def is_done(self) -> bool:
        return self.state in {CompletionState.DONE, CompletionState.PARTLY}

    @property
    def is_done_whole(self) -> bool:
        return self.state == CompletionState.DONE

    @property
    def due(self) -> Due:
        could_not = CouldNot.NOTED if self.noted else CouldNot.NO
        return Due(self.pk, self.on, told(self.state, self.absence), could_not)


class SlotRow(NamedTuple):
    """One exercise of a session that was done, `on` the day it was; what nobody spoke of went like
    the whole."""

    session: int
    child_id: int
    exercise: str
    name: str
    measure: str
    target: int
    log: int
    on: dt.date
    effort: int | None
    session_state: str
    state: str
    amount: int | None
    left: int | None
    right: int | None
    took_easier: bool

    @property
    def is_done(self) -> bool:
        return (self.state or self.session_state) == CompletionState.DONE

    @property
    def amounts(self) -> list[int]:
        return [each for each in (self.amount, self.left, self.right) if each is not None]

    @property
    def told(self) -> str:
        """What was managed: "8 · 6", "8", or only that it was done."""
        if not self.amounts:
            return "done" if self.is_done else "partly"
        return Measure(self.measure).written(*self.amounts)


class PlacementRow(NamedTuple):
    """Where a child stands on a pathway now."""

    pk: int
    child_id: int
    pathway: str
    exercise: str
    placed_at: dt.datetime
    is_seen: bool
    raised_at: dt.datetime | None


class HeldRow(NamedTuple):
    """A published session that is not sent to a child: the coach has to decide."""

    session: int
    name: str
    on: dt.date
    child_id: int


@dataclass(frozen=True)
class ReviewRows:
    """Everything that findings are judged from, as of `today`, as the coach `reader` sees it.
    `first_and_last` are by child the day of the last session that was done, and of the next one."""

    reader: int
    today: dt.date
    who: Mapping[int, Who]
    pains: Sequence[PainReport]
    sessions: Mapping[int, Sequence[SessionRow]]
    slots: Sequence[SlotRow]
    placements: Sequence[PlacementRow]
    restrictions: Sequence[Restriction]
    ways_back: Sequence[WayBackStep]
    first_and_last: Mapping[int, tuple[dt.date | None, dt.date | None]]
    thresholds: Thresholds
    tape: TapeError
    refits: Mapping[int, Sequence[Refit]]
    held: Sequence[HeldRow]
    resolutions: Sequence[Resolution]
    library: LibrarySnapshot
    ready: Mapping[tuple[str, str, str], str] = field(repr=False)

    @cached_property
    def hiding(self) -> frozenset[tuple[int, str]]:
        """Children and keys of what has been answered and may not come back yet."""
        return frozenset(
            (each.child_id, each.finding)
            for each in self.resolutions
            if each.undone_at is None
            and each.to_id is None
            and (each.until is None or each.until > self.today)
        )

    @cached_property
    def handed(self) -> Mapping[tuple[int, str], Resolution]:
        """By child and key, what is with one coach; not with one who no longer looks after the
        child."""
        return {
            (each.child_id, each.finding): each
            for each in self.resolutions
            if each.undone_at is None
            and each.to_id
            and self._looks_after(each.to_id, each.child_id)
        }

    def _looks_after(self, coach: int, child: int) -> bool:
        return coach == self.reader or any(each.pk == coach for each in self.who[child].colleagues)

    @cached_property
    def sore_sessions(self) -> frozenset[int]:
        """The sessions in which something hurt, seen or not."""
        return frozenset(each.pk for rows in self.sessions.values() for each in rows if each.hurt)

    @cached_property
    def _sessions_by_log(self) -> Mapping[int, SessionRow]:
        return {each.log: each for rows in self.sessions.values() for each in rows if each.log}

    def logs(self, logs: Iterable[int]) -> tuple[Log, ...]:
        """The sessions of these logs, as far as they are of the last weeks, each once, by the day
        each was done, oldest first."""
        known = self._sessions_by_log
        found = (known[log] for log in logs if log in known)
        return tuple(sorted({Log(each.felt_on, each.public_id) for each in found}))

    @cached_property
    def restricted(self) -> frozenset[int]:
        """The children of whom something is spared: by a restriction, or until a report of pain is
        answered."""
        in_force = (each.child_id for each in self.restrictions if each.is_in_force(self.today))
        return frozenset(in_force) | {each.child_id for each in self.pains}

    @cached_property
    def held_back(self) -> frozenset[int]:
        """The children who do nothing at all for now, so that nothing waits to be chosen."""
        resting = (
            each.child_id
            for each in self.restrictions
            if not each.region and each.is_in_force(self.today)
        )
        refusing = {
            who.child.pk for who in self.who.values() if who.answers.refuse(ConsentPurpose.TRAINING)
        }
        warned = {each.child_id for each in self.pains if each.pain.is_warning}
        return frozenset(resting) | warned | refusing

    @cached_property
    def rated(self) -> Mapping[int, list[SessionRow]]:
        """What each child did and rated, oldest first: of each day the hardest."""
        return {
            child: hardest_of_each_day(
                (each for each in rows if each.is_done and each.effort is not None),
                lambda each: each.felt_on,
                lambda each: each.rating,
            )
            for child, rows in self.sessions.items()
        }

    @cached_property
    def efforts(self) -> Mapping[int, list[int]]:
        """What each child rated, a rating a day, oldest first."""
        return {child: [each.rating for each in rows] for child, rows in self.rated.items()}

    @cached_property
    def slots_by_exercise(self) -> Mapping[tuple[int, str], Sequence[SlotRow]]:
        """What each child did of each exercise, oldest first."""
        found: dict[tuple[int, str], list[SlotRow]] = defaultdict(list)
        for each in self.slots:
            found[each.child_id, each.exercise].append(each)
        return found


def review_rows(
    user: "User", children: Iterable[Who], today: dt.date, *, with_left: bool = False
) -> ReviewRows:
    """Read what is to be judged about these children, who are visible to the person; `with_left`,
    also what nobody has answered of the pain of children who have left since."""
    who = {each.child.pk: each for each in children}
    ids = list(who)
    pains = _pains(user, ids, with_left=with_left)
    who |= {each.child_id: Who(each.child) for each in pains if each.child_id not in who}
    library = library_snapshot()
    return ReviewRows(
        reader=user.pk,
        today=today,
        who=who,
        pains=pains,
        sessions=_by_child(_sessions(user, ids, today)),
        slots=_slots(user, ids, today),
        placements=_placements(user, ids),
        restrictions=list(
            Restriction.objects.visible_to(user).filter(child__in=ids, lifted_on__isnull=True)
        ),
        ways_back=list(_ways_back(user, ids)),
        first_and_last=_first_and_last(user, ids, today),
        thresholds=SafetyRules.objects.current().thresholds,
        tape=program_tape(),
        refits=_by_child(_refits(user, ids)),
        held=_held(user, ids, today),
        resolutions=_resolutions(user, ids, today),
        library=library,
        ready=step_tests(library.stamp),
    )


def _pains(user: "User", ids: Sequence[int], *, with_left: bool) -> list[PainReport]:
    """Whatever nobody has answered yet."""
    reports = PainReport.objects.visible_to(user).unanswered().for_review()
    return list(reports if with_left else reports.filter(child__in=ids))


def _refits(user: "User", ids: Sequence[int]) -> RefitQuerySet:
    """What nobody has seen; what a report of pain did is said with the report."""
    unseen = Refit.objects.visible_to(user).unseen().exclude(what=Circumstance.PAIN)
    return unseen.filter(child__in=ids)


def _sessions(user: "User", ids: Sequence[int], today: dt.date) -> list[SessionRow]:
    rows = (
        AssignedSession.objects.visible_to(user)
        .taking_place()
        .with_noted()
        .filter(
            Q(date__lte=today) | Q(completion__done_on__isnull=False),
            child__in=ids,
            date__gte=today - LOOKS_BACK,
        )
        .annotate(hurt=Exists(PainReport.objects.filter(assigned_session=OuterRef("pk"))))
        .order_by("date", "pk")
        .values_list(
            "pk",
            "public_id",
            "child",
            "date",
            "name",
            "completion",
            _said("state"),
            "completion__effort",
            _said("note"),
            _said("absence"),
            "hurt",
            "noted",
            "completion__done_on",
        )
    )
    return [SessionRow(*row) for row in rows]


def _said(field: str) -> Coalesce:
    """Of the log; "" where there is none."""
    return Coalesce(f"completion__{field}", Value(""), output_field=TextField())


def _slots(user: "User", ids: Sequence[int], today: dt.date) -> list[SlotRow]:
    """The exercises children work on now, and for longer whatever was told a side at a time."""
    working_on = Placement.objects.current().filter(
        child=OuterRef("assigned_session__child"), exercise=OuterRef("revision__exercise")
    )
    rows = (
        AssignedSlot.objects.visible_to(user)
        .filter(
            Q(results__amount_left__isnull=False)
            | Q(Exists(working_on), assigned_session__date__gte=today - LOOKS_BACK),
            assigned_session__child__in=ids,
            assigned_session__date__gte=today - SIDES_LOOK_BACK,
            assigned_session__completion__state__in=[CompletionState.DONE, CompletionState.PARTLY],
        )
        .annotate(on=F("assigned_session__completion__done_on"))
        .order_by("on", "assigned_session", "part_position", "position")
        .values_list(
            "assigned_session",
            "assigned_session__child",
            "revision__exercise__slug",
            "revision__name",
            "revision__measure",
            "amount",
            "assigned_session__completion",
            "on",
            "assigned_session__completion__effort",
            "assigned_session__completion__state",
            "results__state",
            "results__amount",
            "results__amount_left",
            "results__amount_right",
            "results__took_easier",
        )
    )
    return [SlotRow(*row) for row in rows]


def _placements(user: "User", ids: Sequence[int]) -> list[PlacementRow]:
    current = Placement.objects.visible_to(user).current().filter(child__in=ids)
    rows = current.order_by("child", "pathway__slug").values_list(
        "pk",
        "child",
        "pathway__slug",
        "exercise__slug",
        "placed_at",
        "is_seen",
        "dose_raise__set_at",
    )
    return [PlacementRow(*row) for row in rows]


def _ways_back(user: "User", ids: Sequence[int]) -> WayBackStepQuerySet:
    """The step that each place is on, and lighter weeks."""
    current = WayBackStep.objects.visible_to(user).current().filter(child__in=ids)
    return current.with_last_pain()


def _first_and_last(
    user: "User", ids: Sequence[int], today: dt.date
) -> dict[int, tuple[dt.date | None, dt.date | None]]:
    done = [CompletionState.DONE, CompletionState.PARTLY]
    sessions = (
        AssignedSession.objects.visible_to(user)
        .taking_place()
        .filter(child__in=ids, date__range=(today - A_YEAR, today + LOOKS_AHEAD))
    )
    rows = (
        sessions.order_by()
        .values_list("child")
        .annotate(
            last_done=Max("completion__done_on", filter=Q(completion__state__in=done)),
            back_on=Min("date", filter=Q(date__gte=today, completion__isnull=True)),
        )
    )
    return {child: (last_done, back_on) for child, last_done, back_on in rows}


def _held(user: "User", ids: Sequence[int], today: dt.date) -> list[HeldRow]:
    """Published sessions ahead that children of their cohort have not been sent."""
    ahead = Session.objects.visible_to(user).filter(date__range=(today, today + LOOKS_AHEAD))
    sessions: Any = ahead.held_from(ids)
    rows = sessions.order_by("date", "pk").values_list("pk", "name", "date", "held")
    return [HeldRow(*row) for row in rows]


def _resolutions(user: "User", ids: Sequence[int], today: dt.date) -> list[Resolution]:
    since = timezone.make_aware(dt.datetime.combine(today - REMEMBERS, dt.time()))
    recent = Q(at__gte=since) | Q(action=Do.DECLINED)
    answers = Resolution.objects.visible_to(user).filter(recent, child__in=ids)
    return list(answers.with_names())


def _by_child[Row: (SessionRow, Refit)](rows: Iterable[Row]) -> dict[int, list[Row]]:
    found: dict[int, list[Row]] = defaultdict(list)
    for row in rows:
        found[row.child_id].append(row)
    return found
