"""Publishing: what is written becomes what each child of the cohort gets.

One transaction per session. Publishing twice changes nothing; publishing again after an edit
replaces only what no child has started; whoever publishes at the same moment is told.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from django.db import OperationalError, transaction
from django.db.models import Count

from athletes.changes import lock_children, lock_cohorts
from athletes.models import Child, User
from library.models import hold_the_edition
from library.shared.acting import see_who_joined
from program.checks.session_checks import results_for_session
from program.engine.checks import CheckResult
from program.fit.choices import Chosen, ChosenSession, chosen_seconds, fingerprint
from program.fit.choosing import chosen_for
from program.models import (
    AssignedSession,
    AssignedSessionQuerySet,
    AssignedSlot,
    PainReport,
    Session,
    SessionNews,
    StopReason,
)
from program.operations.database_trouble import is_lock_not_available
from program.publish.fitting import fit_and_check
from program.publish.session_news import write_news


class PublishRefused(Exception):
    """The session cannot go out as it is; the message says why and what to do."""


class PublishNeedsReason(PublishRefused):
    """A check says stop, and nobody has written yet why the session goes out nevertheless."""

    def __init__(self, stops: Sequence[CheckResult]) -> None:
        said = " ".join(stop.sentence for stop in stops)
        super().__init__(f"{said} Write why it goes out nevertheless, then publish.")
        self.stops = stops


class PublishInProgress(Exception):
    """Somebody else is publishing this session at this moment."""


class NotThereAnyMore(Exception):
    """Somebody has taken the session, or the slot, out since it was read."""


@dataclass(frozen=True)
class Published:
    """How many children got what. `kept` had started; `held` wait for a coach's decision or answer;
    `removed` are no longer in the cohort or may no longer do what they had. `said_again` is what
    would have stopped it, had the only head coach not let it pass."""

    new: int = 0
    replaced: int = 0
    unchanged: int = 0
    kept: int = 0
    held: int = 0
    removed: int = 0
    said_again: tuple[CheckResult, ...] = ()


def publish(
    session: Session,
    by: User,
    now: dt.datetime,
    because: str = "",
    *,
    goes_out_incomplete: bool = False,
    origin: str = "",
) -> Published:
    """Send the session to every child enrolled in its cohort on its date.

    `because` is the coach's reason where a check says stop; it is kept. `goes_out_incomplete`: from
    now on it goes out without what is still to be decided, which follows. `origin` is where the
    mails about it to families lead, these and later ones; without one ever, nobody is mailed.

    Raises PublishRefused for a session that is called off, without exercises or with an unpublished
    one, PublishNeedsReason for a stop without a reason, PublishInProgress when another publish of
    this session is under way, and NotThereAnyMore for one that was taken out.
    """
    with transaction.atomic():
        written = _locked_alone(session)
        written.goes_out_incomplete |= goes_out_incomplete
        written.published_from = origin or written.published_from
        _refuse_unready(written)
        children = _locked_children_of(written)
        # Only now, since what they are sent in another cohort counts.
        said_again = _keep_reason(written, because.strip(), by, now)
        published = assign(written, children, by, now)
        removed = withdraw(written.assigned.exclude(child__in=children))
        Session.objects.filter(pk=written.pk).update(
            published_at=now,
            published_by=by,
            published_version=written.version,
            goes_out_incomplete=written.goes_out_incomplete,
            published_from=written.published_from,
        )
    return replace(published, removed=published.removed + removed, said_again=said_again)


def _locked_alone(session: Session) -> Session:
    try:
        mine = Session.objects.select_for_update(nowait=True, no_key=True)
        if not mine.filter(pk=session.pk).values_list("pk").first():
            raise NotThereAnyMore
    except OperationalError as error:
        if not is_lock_not_available(error):
            raise
        raise PublishInProgress from error
    hold_the_edition()
    return Session.objects.with_plan().get(pk=session.pk)


def _locked_children_of(session: Session) -> list[Child]:
    """Whoever is in the cohort on the day. Until the transaction ends nobody joins or leaves it,
    and nothing is learnt about them: what changes after this meets what is published here."""
    lock_cohorts([session.block.cohort])
    see_who_joined()
    children = list(Child.objects.enrolled_in(session.block.cohort, session.date))
    lock_children([*children, *Child.objects.filter(assigned__session=session)])
    return children


def locked(session: Session, children: Iterable[Child]) -> Session:
    """The session, and then these children, nobody else's until the transaction ends, and the
    library as it is; in this order, as whoever publishes has them. Raises NotThereAnyMore."""
    if not Session.objects.filter(pk=session.pk).lock():
        raise NotThereAnyMore
    hold_the_edition()
    lock_children(children)
    return Session.objects.with_plan().get(pk=session.pk)


def withdraw(assigned: AssignedSessionQuerySet) -> int:
    """Take back what no child has started; the number of sessions taken back."""
    wait_for_logs_of(assigned)
    return assigned.untouched().delete()[1].get("program.AssignedSession", 0)


def _refuse_unready(session: Session) -> None:
    if session.is_called_off:
        raise PublishRefused(
            "This session is called off. Say first that it takes place after all, then publish."
        )
    slots = session.all_slots()
    if not slots:
        raise PublishRefused("There is no exercise in this session yet. Add one, then publish.")
    for slot in slots:
        if not slot.exercise.is_published:
            raise PublishRefused(
                f"{slot.exercise} is not published in the library. Publish it or take it out."
            )


def _keep_reason(
    session: Session, because: str, by: User, now: dt.datetime
) -> tuple[CheckResult, ...]:
    """Keep why it goes out in spite of its stops; what was switched off and would be one."""
    found = results_for_session(session)
    stops = [each.result for each in found if each.is_open_stop]
    if stops and not because:
        raise PublishNeedsReason(stops)
    StopReason.objects.bulk_create(
        StopReason(
            session=session,
            code=stop.code,
            sentence=stop.sentence,
            children=sorted(stop.who),
            reason=because,
            by=by,
            at=now,
        )
        for stop in stops
    )
    return tuple(each.result for each in found if each.result.is_switched_off)


def assign(
    session: Session, children: Sequence[Child], by: User | None, now: dt.datetime
) -> Published:
    """Choose and write what these children, who are locked, get, and what is new to their families,
    in a fixed number of statements however many they are."""
    fitted, words = fit_and_check(session, children)
    chosen = {each.child_id: each for each in chosen_for(fitted, children, words)}
    mine = session.assigned.filter(child__in=children)
    wait_for_logs_of(mine)
    before = mine.select_related("completion").annotate(exercises=Count("slots"))
    there = {assigned.child_id: assigned for assigned in before}
    kept = {child_id for child_id, assigned in there.items() if assigned.is_touched}
    held = {child_id for child_id, each in chosen.items() if each.is_held} - kept
    resting = {child_id for child_id in held if chosen[child_id].is_held_back}
    ready = {c: each for c, each in chosen.items() if c not in kept | held}
    marks = {child_id: fingerprint(session, each) for child_id, each in ready.items()}
    same = {c for c in ready if c in there and there[c].fingerprint == marks[c]}
    fresh = {c: each for c, each in ready.items() if c not in same}

    replaced = [there[child_id] for child_id in fresh if child_id in there]
    withdrawn = [there[child_id] for child_id in held - resting if child_id in there]
    hurt = _reports_from(replaced)
    AssignedSession.objects.filter(pk__in=[each.pk for each in replaced + withdrawn]).delete()
    mine.filter(child__in=resting, closed_at=None).update(closed_at=now)
    # What is chosen again, just so, may be done again.
    mine.filter(child__in=same).exclude(closed_at=None).update(closed_at=None)
    _write(session, fresh.values(), marks, {a.child_id: a.public_id for a in replaced}, by, now)
    _keep_with_session(session, hurt)
    write_news(session, _news(session, there, fresh), now)
    return Published(
        new=len(fresh) - len(replaced),
        replaced=len(replaced),
        unchanged=len(same),
        kept=len(kept),
        held=len(held),
        removed=len(withdrawn),
    )


def _news(
    session: Session, there: Mapping[int, Any], fresh: Mapping[int, ChosenSession]
) -> dict[SessionNews.What, list[int]]:
    """Of whom, by key, something is new: `there` is what they had, with how many `exercises`, and
    `fresh` what they have now. A note is for all of them, so it comes before the rest of one."""
    replaced = {child: there[child] for child in fresh if child in there}
    rest = [
        child
        for child, had in replaced.items()
        if had.to_come and not fresh[child].undecided and len(fresh[child].slots) > had.exercises
    ]
    noted = [child for child, had in replaced.items() if session.note not in {"", had.note}]
    what = SessionNews.What
    return {what.NEW: list(fresh.keys() - there.keys()), what.REST: rest, what.NOTE: noted}


def wait_for_logs_of(assigned: AssignedSessionQuerySet) -> None:
    """Lock these sessions, so that a log being written is seen when it is asked what was started,
    and none is written in between. Logging locks the same rows, in the same order."""
    list(assigned.select_for_update(of=("self",)).order_by("pk").values_list("pk"))


def _reports_from(replaced: Sequence[AssignedSession]) -> list[PainReport]:
    return list(PainReport.objects.filter(assigned_session__in=replaced).order_by("pk"))


def _keep_with_session(session: Session, reports: Sequence[PainReport]) -> None:
    """What hurt in a session that was chosen anew stays with what came in its place."""
    if not reports:
        return
    here = dict(session.assigned.values_list("child", "pk"))
    for report in reports:
        report.assigned_session_id = here[report.child_id]
    PainReport.objects.bulk_update(reports, ["assigned_session"])


def _write(
    session: Session,
    chosen: Iterable[ChosenSession],
    marks: dict[int, str],
    public_ids: dict[int, object],
    by: User | None,
    now: dt.datetime,
) -> None:
    """A replaced session keeps its public id, so that a family's bookmark still opens it."""
    chosen, block = list(chosen), session.block
    pace, pauses = block.pace, block.pauses
    sessions = AssignedSession.objects.bulk_create(
        AssignedSession(
            session=session,
            child_id=each.child_id,
            name=session.name,
            date=session.date,
            place=session.place,
            note=session.note,
            seconds=chosen_seconds(each.slots, pace),
            to_come=len(each.undecided),
            **pauses,
            published_at=now,
            published_by=by,
            fingerprint=marks[each.child_id],
            **({"public_id": public_ids[each.child_id]} if each.child_id in public_ids else {}),
        )
        for each in chosen
    )
    AssignedSlot.objects.bulk_create(
        _assigned_slot(assigned, each)
        for assigned, one in zip(sessions, chosen, strict=True)
        for each in one.slots
    )


def _assigned_slot(assigned: AssignedSession, each: Chosen) -> AssignedSlot:
    slot, part, easier = each.slot, each.slot.part, each.easier
    asked = replace(each.prescription, note=each.note or each.prescription.note)
    return AssignedSlot(
        assigned_session=assigned,
        written_slot=slot,
        part_position=part.position,
        part_name=part.name,
        part_kind=part.kind,
        rounds=part.rounds,
        part_rest_seconds=part.rest_seconds,
        position=slot.position,
        revision=each.revision,
        **asdict(asked),
        outcome=each.outcome,
        reasons=list(each.reasons),
        easier_revision=each.easier_revision,
        easier_amount=easier.amount if easier else None,
        easier_tempo=easier.tempo if easier else "",
    )
