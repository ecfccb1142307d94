"""What wants a coach's decision, one finding each, most urgent first. Asks the database nothing.

A finding says what it is, what it rests on and what can be done about it. It leaves the queue when
somebody answers it (`program.review.decisions`), or when what it says is no longer so.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Final

from django.utils import timezone
from django.utils.text import capfirst

from athletes.models import Restriction
from athletes.signals import Circumstance
from library.body import Region
from library.shared.dates import moment_in_words, short_weekday_and_date
from library.shared.lanes import Cell, lane
from program.common.lanes import Evidence, evidence_lane, mark_of
from program.common.wording import effort_in_words, number
from program.engine.attendance import EXCUSED, silent_run
from program.engine.balance import Balance, Reading, balance
from program.engine.load import is_far_above, usual
from program.models import PainReport, Refit
from program.models.questions import key_of
from program.models.resolutions import Do, Kind
from program.review.children import Who
from program.review.finding import Action, Finding
from program.review.findings.consent import consent_findings
from program.review.findings.growth import growth_findings
from program.review.findings.progress import progress_findings
from program.review.logged_sessions import Pain
from program.review.queries import HeldRow, ReviewRows, SessionRow, SlotRow

EFFORT_COUNTS: Final = dt.timedelta(days=14)
"""How long a hard session still wants an answer; after it the child's next logs speak."""

ENDS_SOON: Final = dt.timedelta(days=2)
SHOWN: Final = 5
"""How many sessions stand in a lane of evidence."""

_LOGS: Final = Action(Do.LOOK, "Look at the logs")


def findings(rows: ReviewRows) -> list[Finding]:
    """Everything that nobody has answered yet, most urgent first."""
    found = [
        *pain_findings(rows.who, rows.pains),
        *_questions(rows),
        *_restrictions(rows),
        *_decisions(rows),
        *growth_findings(rows),
        *_efforts(rows),
        *_missed(rows),
        *_sides(rows),
        *_changes(rows),
        *progress_findings(rows),
        *consent_findings(rows),
    ]
    open_ones = [each for each in found if _place(each) not in rows.hiding]
    whose = [
        replace(each, handed=rows.handed[_place(each)]) if _place(each) in rows.handed else each
        for each in open_ones
    ]
    return sorted(whose, key=lambda each: each.order)


def _place(finding: Finding) -> tuple[int, str]:
    return finding.who.child.pk, finding.key


LANDS_ON: Final = frozenset(
    {
        Region.LOWER_BACK,
        Region.HIP_GROIN,
        Region.THIGH,
        Region.KNEE,
        Region.LOWER_LEG,
        Region.ANKLE,
        Region.FOOT,
    }
)
_SPARE: Final = (
    Action(Do.NO_LANDING, "No landings for two weeks"),
    Action(Do.NO_LOADING, "No loading for two weeks"),
)


def pain_findings(who: Mapping[int, Who], reports: Iterable[PainReport]) -> list[Finding]:
    """One finding for all that nobody has seen yet about one place of one child."""
    unseen: dict[tuple[int, str, str], list[PainReport]] = defaultdict(list)
    for report in reports:
        if report.seen_at is None:
            unseen[report.child_id, report.region, report.side].append(report)
    return [_pain(who[child_id], those) for (child_id, *_), those in unseen.items()]


def _pain(who: Who, reports: Sequence[PainReport]) -> Finding:
    ordered = sorted(reports, key=lambda each: (each.reported_at, each.pk), reverse=True)
    newest, worst = ordered[0], max(ordered, key=lambda each: each.level)
    spare = _SPARE if newest.region in LANDS_ON else _SPARE[1:]
    return Finding(
        key=f"{Kind.PAIN}-{newest.pk}",
        kind=Kind.PAIN,
        who=who,
        subjects=tuple(each.pk for each in ordered),
        headline=Pain(worst).finding,
        evidence=(_told(newest),),
        actions=(*spare, Action(Do.SEEN, "Seen, no change")),
        on=newest.reported_on,
        drawn=partial(evidence_lane, "Reports", _reports(ordered)) if len(ordered) > 1 else None,
        weight=worst.level,
    )


def _reports(newest_first: Sequence[PainReport]) -> list[Evidence]:
    return [
        Evidence(
            f"{each.level} of 10",
            short_weekday_and_date(each.reported_on),
            "stop",
        )
        for each in reversed(newest_first[:SHOWN])
    ]


def _told(report: PainReport) -> str:
    at = moment_in_words(timezone.localtime(report.reported_at))
    by = report.reported_by or "somebody who has left"
    session = f", in {report.assigned_session}" if report.assigned_session else ""
    note = f"“{report.note}” " if report.note else ""
    return f"{note}{report.level} of 10, told by {by}, {at}{session}. {Pain(report).how_often}"


def _questions(rows: ReviewRows) -> Iterator[Finding]:
    for who in rows.who.values():
        for asked in who.asked:
            moment = timezone.localtime(asked.at)
            on = f", on {asked.about}" if asked.about else ""
            yield Finding(
                key=key_of(asked.pk),
                kind=Kind.QUESTION,
                who=who,
                subjects=(asked.pk,),
                headline=f"“{asked.text}”",
                evidence=(f"{asked.by} asks, {moment_in_words(moment)}{on}.",),
                actions=(_LOGS,),
                on=moment.date(),
            )


def _restrictions(rows: ReviewRows) -> Iterator[Finding]:
    for each in rows.restrictions:
        who = rows.who[each.child_id]
        if each.until < rows.today:
            yield _is_over(who, each)
        elif each.start <= rows.today and each.until - rows.today <= ENDS_SOON:
            yield _ends_soon(who, each, rows.today)


def _is_over(who: Who, rule: Restriction) -> Finding:
    return Finding(
        key=f"{Kind.RESTRICTION}-{rule.pk}-over",
        kind=Kind.RESTRICTION,
        who=who,
        subjects=(rule.pk,),
        headline=f"{rule.rule} is over. Is it fine again?",
        evidence=(
            *_noted(rule),
            f"It held until {short_weekday_and_date(rule.until)}; nobody has said.",
        ),
        actions=(
            Action(Do.LIFT, "Fine again"),
            Action(Do.EXTEND, "Two more weeks"),
        ),
        on=rule.until,
        weight=1,
    )


def _ends_soon(who: Who, rule: Restriction, today: dt.date) -> Finding:
    when = "today" if rule.until == today else f"on {rule.until:%A}"
    return Finding(
        key=f"{Kind.RESTRICTION}-{rule.pk}-ends-{rule.until.isoformat()}",
        kind=Kind.RESTRICTION,
        who=who,
        subjects=(rule.pk,),
        headline=f"{rule.rule} ends {when}",
        evidence=(*_noted(rule), f"Set from {short_weekday_and_date(rule.start)}."),
        actions=(
            Action(Do.EXTEND, "Two more weeks"),
            Action(Do.SEEN, "Let it end"),
            Action(Do.LIFT, "Fine again now"),
        ),
        on=rule.until,
    )


def _noted(rule: Restriction) -> list[str]:
    return [f"“{rule.note}”"] if rule.note else []


def _decisions(rows: ReviewRows) -> Iterator[Finding]:
    for held in rows.held:
        yield _decision(rows.who[held.child_id], held, rows.today)


def _decision(who: Who, held: HeldRow, today: dt.date) -> Finding:
    when = "today" if held.on == today else f"on {held.on:%A} {held.on.day} {held.on:%B}"
    return Finding(
        key=f"{Kind.DECIDE}-{held.session}",
        kind=Kind.DECIDE,
        who=who,
        subjects=(held.session,),
        headline=f"{held.name} {when} has a place nothing fits",
        evidence=("It is not with the family until you choose, or leave the place out.",),
        actions=(
            Action(Do.LOOK, "Choose"),
            Action(Do.SEEN, "Not this time"),
        ),
        on=held.on,
    )


def _efforts(rows: ReviewRows) -> Iterator[Finding]:
    for sessions in rows.sessions.values():
        rated = [each for each in sessions if each.is_done and each.effort is not None]
        for place, session in enumerate(rated):
            earlier = rated[:place]
            is_recent = rows.today - session.on <= EFFORT_COUNTS
            if is_recent and is_far_above(_rating(session), [_rating(each) for each in earlier]):
                yield _effort(rows, session, earlier)


def _rating(session: SessionRow) -> int:
    return session.effort or 0


def _effort(rows: ReviewRows, session: SessionRow, earlier: Sequence[SessionRow]) -> Finding:
    before = usual([_rating(each) for each in earlier])
    middle = f"{before.median:g}" if before else ""
    cells = [
        Evidence(str(each.effort), short_weekday_and_date(each.on)) for each in earlier[1 - SHOWN :]
    ]
    cells.append(Evidence(str(session.effort), short_weekday_and_date(session.on), "look"))
    return Finding(
        key=f"{Kind.EFFORT}-{session.log}",
        kind=Kind.EFFORT,
        who=rows.who[session.child_id],
        subjects=(session.pk,),
        headline=f"{capfirst(effort_in_words(_rating(session)))}, usually {middle}",
        evidence=(
            f"{session.name}, {short_weekday_and_date(session.on)}. "
            f"Usual is the middle of {len(earlier)} sessions before it.",
            *([f"“{session.note}”"] if session.note else []),
        ),
        actions=(Action(Do.SEEN, "Seen, no change"), _LOGS),
        on=session.on,
        logs=rows.logs(each.log for each in (*earlier, session) if each.log),
        drawn=partial(evidence_lane, "Effort", cells),
        weight=_rating(session),
    )


def _missed(rows: ReviewRows) -> Iterator[Finding]:
    for child_id, sessions in rows.sessions.items():
        run = silent_run([each.due for each in sessions], rows.today)
        if run:
            yield _quiet(rows.who[child_id], sessions, run[0].key, rows.today)


def _quiet(who: Who, sessions: Sequence[SessionRow], since: int, today: dt.date) -> Finding:
    past = [each for each in sessions if each.on < today]
    first = next(place for place, each in enumerate(past) if each.pk == since)
    run = past[first:]
    done = past[first - 1] if first else None
    silent = [each.due.told for each in run if each.due.told not in EXCUSED]
    how = "missed without a word" if any(silent) else "nobody has spoken of"
    days = (today - (done.on if done else run[0].on)).days
    return Finding(
        key=f"{Kind.MISSED}-{since}",
        kind=Kind.MISSED,
        who=who,
        subjects=(since,),
        headline=f"Nothing logged for {number(days)} days",
        evidence=(
            f"{number(len(silent)).capitalize()} sessions in a row {how}. "
            + (
                f"The last one done was {done.name}, {short_weekday_and_date(done.on)}."
                if done
                else ""
            ),
        ),
        actions=(Action(Do.SEEN, "Seen, look again in a week", days=7), _LOGS),
        on=run[0].on,
        drawn=partial(lane, "Sessions", [_mark(each, today) for each in past[-7:]], centred=True),
        weight=len(silent),
    )


def _mark(session: SessionRow, today: dt.date) -> Cell:
    return Cell(
        label=f"{session.on:%a}"[0],
        marks=(mark_of(session.state, session.on, today),),
        spoken=f"{session.name}, {short_weekday_and_date(session.on)}",
    )


def _sides(rows: ReviewRows) -> Iterator[Finding]:
    for slots in rows.slots_by_exercise.values():
        told = [each for each in slots if each.left is not None and each.right is not None]
        readings = [Reading(each.left or 0, each.right or 0, each.log) for each in told[-6:]]
        found = balance(readings)
        if found and found.is_worth_a_look:
            cells = [Evidence(each.told, short_weekday_and_date(each.on)) for each in told[-6:]]
            yield _side(rows, told[-1], found, cells)


def _side(rows: ReviewRows, last: SlotRow, found: Balance, cells: Sequence[Evidence]) -> Finding:
    name = last.name
    return Finding(
        key=f"{Kind.SIDES}-{last.exercise}"[:80],
        kind=Kind.SIDES,
        who=rows.who[last.child_id],
        subjects=(),
        headline=f"{name}: {found.weaker} about {found.percent:.0f} % less",
        evidence=(
            f"In {found.agreeing} of {len(found.readings)} sessions, left and right as they stand "
            f"below; one reading alone is off by {found.error:.0f} points. "
            "A reason to watch, not a diagnosis.",
        ),
        actions=(Action(Do.SEEN, "Seen, look again in four weeks", days=28), _LOGS),
        on=last.on,
        logs=rows.logs(each.log for each in found.readings),
        drawn=partial(evidence_lane, name, cells),
        weight=round(found.percent),
    )


CHANGES: Final = {
    Circumstance.KIT: "What is at home has changed",
    Circumstance.RESTRICTION: "What is spared has changed",
    Circumstance.PLACEMENT: "A placement has changed",
    Circumstance.GROWTH: "Growing fast has changed",
    Circumstance.AGE: "The birth date has changed",
    Circumstance.COHORT: "The cohort has changed",
}


def _changes(rows: ReviewRows) -> Iterator[Finding]:
    """One finding per child, however often something changed. A coach who places a child knows it:
    only what that holds up or takes back is told."""
    for child_id, refits in rows.refits.items():
        told = [each for each in refits if each.what != Circumstance.PLACEMENT or _costs(each)]
        if told:
            yield _changed(rows.who[child_id], told)


def _costs(refit: Refit) -> bool:
    return bool(refit.waiting or refit.withdrawn)


def _changed(who: Who, refits: Sequence[Refit]) -> Finding:
    newest = max(refits, key=lambda each: each.pk)
    on = timezone.localtime(newest.at).date()
    whats = dict.fromkeys(CHANGES[Circumstance(each.what)] for each in refits)
    return Finding(
        key=f"{Kind.CHANGED}-{newest.pk}",
        kind=Kind.CHANGED,
        who=who,
        subjects=(newest.pk,),
        headline=", and ".join(whats),
        evidence=(f"{outcome_in_words(refits)} {short_weekday_and_date(on)}.",),
        actions=(Action(Do.SEEN, "Seen"), Action(Do.LOOK, "Look at the child")),
        on=on,
    )


def outcome_in_words(refits: Sequence[Refit]) -> str:
    """ "2 sessions not yet started are different now, 1 waits for you." """
    counts = (
        (sum(each.changed for each in refits), "different now"),
        (sum(each.waiting for each in refits), "waiting for you"),
        (sum(each.withdrawn for each in refits), "taken back"),
    )
    said = ", ".join(f"{count} {word}" for count, word in counts if count)
    return f"Sessions not yet started: {said or 'all as they were'}."
