"""Who gets what of a session, and what the coach decides there."""

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from athletes.health_views import looked_at
from athletes.invitation_mail import ask_about_kit
from athletes.loaders import coached_child_or_404
from athletes.models import Child
from library.models import Exercise
from library.shared.access import Request, for_coaches
from library.shared.dates import date_in_words
from program.checks.naming import with_names
from program.checks.session_checks import results_for_session
from program.common.loaders import session_with_slots_or_404, written_session_or_404
from program.common.session_plan import plan_of
from program.engine.fit.reasons import ReasonCode
from program.engine.wording import listed, plural
from program.fit.asked import asked_of
from program.fit.fitting import FittedSession
from program.fit.who_gets_what import Cell, WhoGetsWhat, children_of, who_gets_what
from program.models import Lasts, PainReport, Place, Session, StandingDecision
from program.publish.deciding import (
    ChoiceNeedsReason,
    Said,
    Word,
    decide,
    end_decision,
    leave_out_lacking,
    remove_override,
)
from program.publish.fitting import fit_and_check
from program.publish.forms import LEAVE_OUT, THIS_SESSION, DecisionForm, GroupForm
from program.publish.landing import unplaced_on_landing
from program.publish.open_choices import OpenGroup, Proposal, landing_group, like, open_groups
from program.publish.own_choices import choices_of
from program.publish.publishing import NotThereAnyMore

PAGE = "program/publish/who_gets_what.html"


@dataclass(frozen=True)
class _Table:
    """A session as it is fitted to its cohort, and the table of it."""

    session: Session
    children: Sequence[Child]
    fitted: FittedSession
    sheet: WhoGetsWhat

    @classmethod
    def of(cls, request: Request, session_id: int, only: uuid.UUID | None = None) -> "_Table":
        """Of everybody in the cohort, or of one child by its public key."""
        return cls.around(request, session_with_slots_or_404(request.user, session_id), only)

    @classmethod
    def around(cls, request: Request, session: Session, only: uuid.UUID | None = None) -> "_Table":
        children = [each for each in children_of(session) if only in (None, each.public_id)]
        fitted, words = fit_and_check(session, children)
        return cls(session, children, fitted, who_gets_what(fitted, words, children, request.user))

    @cached_property
    def groups(self) -> list[OpenGroup]:
        """What waits for an answer; landing is asked about only where something lands."""
        groups = open_groups(self.fitted, self.sheet)
        if not any(slot.lands for slot in self.fitted.slots):
            return groups
        landing = landing_group(self.fitted, self.sheet, unplaced_on_landing(self.session))
        return [*groups, *([landing] if landing else [])]

    def unanswered(self, request: Request) -> list[PainReport]:
        """The reports that wait for an answer. Whoever these and the table tell of is looked at."""
        unanswered = list(PainReport.objects.unanswered().about(self.children))
        looked_at(request, *self.sheet.told_of, *(each.child for each in unanswered))
        return unanswered


@require_GET
@for_coaches
def fit_counts(request: Request, session_id: int) -> HttpResponse:
    """How many children get each slot as written, easier, harder; for the margin of a builder in
    which there is nothing to check yet."""
    table = _Table.of(request, session_id)
    context = {
        "sheet": table.sheet,
        "session": table.session,
        "unanswered": table.unanswered(request),
    }
    return render(request, f"{PAGE}#counts", context)


@require_GET
@for_coaches
def look(request: Request, session_id: int) -> HttpResponse:
    """The same with what the checks find in the session as it goes to each child; for the builder's
    panel, which so has it fitted once."""
    table = _Table.around(request, written_session_or_404(request.user, session_id))
    asked = asked_of(table.fitted, plan_of(table.session))
    context = {
        "looks": with_names(results_for_session(table.session, asked), request.user),
        "sheet": table.sheet,
        "session": table.session,
        "unanswered": table.unanswered(request),
    }
    return render(request, "program/publish/look.html", context)


@require_GET
@for_coaches
def whole_table(request: Request, session_id: int) -> HttpResponse:
    """What waits, by what is in the way, and what each child gets, place by place."""
    table = _Table.of(request, session_id)
    is_filtered = "different" in request.GET
    sheet = table.sheet
    groups = table.groups
    context = {
        "sheet": sheet,
        "session": table.session,
        "rows": sheet.different_rows if is_filtered else sheet.rows,
        "is_filtered": is_filtered,
        "unanswered": table.unanswered(request),
        "groups": groups,
        "headline": _headline(len(groups), sheet),
        "in_short": _in_short(sheet),
        "this_session": THIS_SESSION,
    }
    return render(request, PAGE, context)


def _headline(groups: int, sheet: WhoGetsWhat) -> str:
    if not (sheet.rows and sheet.columns):
        return ""
    if groups:
        return f"{plural(groups, 'answer')}, then everybody has the session."
    return "Everybody has something to do." if not sheet.waiting else "Nothing left to choose."


def _in_short(sheet: WhoGetsWhat) -> str:
    if not (sheet.rows and sheet.columns):
        return ""
    different, everybody = len(sheet.different_rows), len(sheet.rows)
    said = (
        f"{different} of {plural(everybody, 'child', 'children')} get something other than written"
    )
    if not different:
        said = f"All {everybody} children get it as written" if everybody > 1 else "As written"
    if sheet.asked_more:
        said = f"{said}, {len(sheet.asked_more)} of them something that asks more"
    kept = (
        plural(len(sheet.decided), "place") + " decided earlier and kept" if sheet.decided else ""
    )
    return f"{said}; {kept}." if kept else f"{said}."


@require_POST
@for_coaches
def decide_group(request: Request, session_id: int) -> HttpResponse:
    """One answer to every place that waits for the same reason, as it was seen."""
    table = _Table.of(request, session_id)
    form = GroupForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Choose an answer and how long it holds. Nothing was changed.")
        return redirect("program:who_gets_what", session_id)
    group = _group_in(table, form.cleaned_data["group"])
    proposals = group.as_seen(form.seen) if group else []
    if group is None or not proposals:
        messages.warning(request, "Something changed since you opened this. Look at it again.")
    elif form.cleaned_data["do"] == "ask":
        _ask_families(request, [each.cell.child for each in proposals])
    else:
        _answer(request, table.session, group, proposals, form)
    return redirect("program:who_gets_what", session_id)


def _group_in(table: _Table, key: str) -> OpenGroup | None:
    return next((group for group in table.groups if group.key == key), None)


def _answer(
    request: Request,
    session: Session,
    group: OpenGroup,
    proposals: Sequence[Proposal],
    form: GroupForm,
) -> None:
    said = Said(by=request.user, at=timezone.now(), lasts=form.how_long)
    leaves_out = form.cleaned_data["do"] == "leave-out"
    try:
        if leaves_out and group.is_about_kit and said.lasts:
            children = {each.cell.child for each in proposals}
            leave_out_lacking(session, {child: group.lacking[child] for child in children}, said)
        else:
            decide(session, _words(proposals, leaves_out=leaves_out), said)
    except NotThereAnyMore:
        raise Http404 from None
    except ChoiceNeedsReason as needed:
        messages.error(request, f"{needed} Nothing was kept. Choose child by child, with a reason.")
        return
    what = "left out" if leaves_out else "something else instead"
    names = listed(dict.fromkeys(str(each.cell.child) for each in proposals))
    messages.success(request, f"{group.title}: {what}, {_for_how_long(said)}. {names}.")


def _words(proposals: Sequence[Proposal], *, leaves_out: bool) -> list[Word]:
    slugs = {each.option.exercise.slug for each in proposals if each.option}
    exercises = {each.slug: each for each in Exercise.objects.filter(slug__in=slugs)}
    return [
        Word(
            each.cell.slot,
            each.cell.child,
            None if leaves_out or not each.option else exercises[each.option.exercise.slug],
        )
        for each in proposals
        if leaves_out or each.option
    ]


def _for_how_long(said: Said) -> str:
    if said.lasts is None:
        return "in this session only"
    if said.lasts is Lasts.DAY and said.until:
        return f"until {date_in_words(said.until)}"
    return said.lasts.label


def _ask_families(request: Request, children: Iterable[Child]) -> None:
    """Ask each child's guardians by mail what is at home."""
    wanted = list(dict.fromkeys(children))
    with transaction.atomic():
        reached = ask_about_kit(request, wanted)
    asked = [str(child) for child in wanted if child in reached]
    nobody = [str(child) for child in wanted if child not in reached]
    if asked:
        families = "the family is" if len(asked) == 1 else "the families are"
        messages.success(request, f"{listed(asked)}: {families} asked what is at home.")
    if nobody:
        messages.warning(request, f"No guardian here wants mail: {listed(nobody)}.")


@require_http_methods(["GET", "POST"])
@for_coaches
def decision(request: Request, session_id: int, slot_id: int, child_id: uuid.UUID) -> HttpResponse:
    """One place: why it is so, and the coach's own choice instead."""
    table = _Table.of(request, session_id)
    cell = _cell_or_404(table, slot_id, child_id)
    alike = like(table.fitted, table.sheet, cell) if cell.is_open else []
    choices = choices_of(table.fitted, cell.slot, cell.child)
    form = DecisionForm(choices, request.POST or None, initial=_initial(cell))
    looked_at(request, cell.child)
    if request.method == "POST" and form.is_valid() and _is_kept(request, table, cell, alike, form):
        return redirect("program:who_gets_what", session_id)
    context = {
        "form": form,
        "cell": cell,
        "alike": alike,
        "is_at_home": table.session.place == Place.HOME,
        "session": table.session,
        "leave_out": LEAVE_OUT,
        "not_now": [each for each in choices if each.is_on_pathway and not each.is_allowed],
    }
    page = "program/publish/decision.html"
    part = "#panel" if "HX-Request" in request.headers else ""
    return render(request, f"{page}{part}", context, status=422 if form.stops else 200)


def _cell_or_404(table: _Table, slot_id: int, child_id: uuid.UUID) -> Cell:
    for row in table.sheet.rows:
        for cell in row.cells:
            if (cell.slot.pk, cell.child.public_id) == (slot_id, child_id):
                return cell
    raise Http404


def _initial(cell: Cell) -> dict[str, str]:
    """What stands; for an open place the usual, until the reason for it changes."""
    said = cell.here or cell.decided
    if cell.is_open:
        is_kit = any(reason.code is ReasonCode.NEED_UNMET for reason in cell.reasons)
        return {"lasts": Lasts.KIT if is_kit else Lasts.BLOCK}
    if said is None:
        return {"lasts": THIS_SESSION}
    choice = said.exercise.slug if said.exercise else LEAVE_OUT
    lasts = said.lasts if isinstance(said, StandingDecision) else THIS_SESSION
    return {"choice": choice, "note": said.note, "lasts": lasts}


def _is_kept(
    request: Request, table: _Table, cell: Cell, alike: Sequence[Cell], form: DecisionForm
) -> bool:
    exercise = form.chosen()
    meant = [cell, *(alike if form.cleaned_data["everybody"] else ())]
    able = [each for each in meant if _may_get(table, each, exercise)]
    said = Said(
        by=request.user,
        at=timezone.now(),
        lasts=form.how_long,
        until=form.cleaned_data["until"],
        note=form.cleaned_data["note"],
        because=form.because,
    )
    try:
        decide(table.session, [Word(each.slot, each.child, exercise) for each in able], said)
    except NotThereAnyMore:
        raise Http404 from None
    except ChoiceNeedsReason as needed:
        form.ask_why(needed.stops)
        return False
    names = listed(str(each.child) for each in able)
    messages.success(request, f"{names}: your choice is kept, {_for_how_long(said)}.")
    if unable := [str(each.child) for each in meant if each not in able]:
        messages.warning(request, f"{listed(unable)}: not allowed for them. Choose one by one.")
    return True


def _may_get(table: _Table, cell: Cell, exercise: Exercise | None) -> bool:
    if exercise is None:
        return True
    return not table.fitted.option(cell.slot, cell.child, exercise.slug).broken


@require_POST
@for_coaches
def decision_back(
    request: Request, session_id: int, slot_id: int, child_id: uuid.UUID
) -> HttpResponse:
    """Take back what was chosen in one place, of this session or of all of them."""
    table = _Table.of(request, session_id, only=child_id)
    cell = _cell_or_404(table, slot_id, child_id)
    try:
        if cell.decided:
            end_decision(cell.decided, request.user, timezone.now())
        else:
            remove_override(cell.slot, cell.child, timezone.now())
    except NotThereAnyMore:
        raise Http404 from None
    messages.success(request, f"{cell.child}: chosen by placement, kit and restrictions again.")
    return redirect("program:who_gets_what", session_id)


@require_POST
@for_coaches
def ask_family(
    request: Request, session_id: int, slot_id: int, child_id: uuid.UUID
) -> HttpResponse:
    """Ask the child's guardians by mail what is at home."""
    table = _Table.of(request, session_id, only=child_id)
    _ask_families(request, [_cell_or_404(table, slot_id, child_id).child])
    return redirect("program:who_gets_what", session_id)


@require_POST
@for_coaches
def end_standing_decision(request: Request, child_id: uuid.UUID, decision_id: int) -> HttpResponse:
    """Take back what was decided for all sessions, from the child's page."""
    child = coached_child_or_404(request.user, child_id)
    decision = get_object_or_404(child.standing_decisions.with_names(), pk=decision_id)
    if end_decision(decision, request.user, timezone.now()):
        messages.success(request, f"{child}: “{decision}” does not hold any more.")
    return redirect("program:child_review", child.public_id)
