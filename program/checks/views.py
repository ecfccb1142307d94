"""The checks: what they look at, where their limits come from, and the program's own word."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from library.shared.access import Request, for_coaches, for_head_coach
from library.shared.ids import whole_number
from program.checks import settings
from program.checks.forms import CheckForm
from program.checks.last_block import NoSuchCohort, rules_over_last_block
from program.checks.settings import ChangeRefused, SetRule


@require_GET
@for_coaches
def checks(request: Request) -> HttpResponse:
    """All checks, each with what it would have said over the last block of a cohort (`?cohort=3`),
    or of the first that has one."""
    asked = request.GET.get("cohort", "")
    chosen = whole_number(asked)
    if asked and chosen is None:
        raise Http404
    try:
        over = rules_over_last_block(request.user, chosen, timezone.localdate())
    except NoSuchCohort as error:
        raise Http404 from error
    return render(request, "program/checks/list.html", {"over": over})


@require_http_methods(["GET", "POST"])
@for_head_coach
def check(request: Request, code: str) -> HttpResponse:
    """One check, switched off or on or given another limit, always with a reason."""
    held = _rule_or_404(code)
    form = CheckForm(held.rule, held.limit, request.POST or None, is_off=held.is_off)
    status = 200
    if request.method == "POST":
        if form.is_valid() and _is_changed(request, held, form):
            return redirect("program:checks")
        status = 422
    return render(request, "program/checks/check.html", {"held": held, "form": form}, status=status)


def _is_changed(request: Request, held: SetRule, form: CheckForm) -> bool:
    reason, now = form.cleaned_data["reason"], timezone.now()
    try:
        change = settings.change_check(held.rule, form.setting, reason, request.user, now)
    except ChangeRefused as why:
        form.add_error(None, str(why))
        return False
    if change.awaits_second:
        said = f"{held.rule.title}: {change}. It holds once another head coach confirms it."
        messages.warning(request, said)
    else:
        messages.success(request, f"{held.rule.title}: {change}, from now on and for everybody.")
    return True


@require_POST
@for_head_coach
def check_back(request: Request, code: str) -> HttpResponse:
    held = _rule_or_404(code)
    if settings.back_to_usual(held.rule, request.user, timezone.now()):
        messages.success(request, f"{held.rule.title}: as usual again.")
    else:
        messages.warning(request, f"{held.rule.title} was as usual already.")
    return redirect("program:checks")


@require_POST
@for_head_coach
def check_confirm(request: Request, code: str) -> HttpResponse:
    """The second head coach's word on what lets pass what a stop holds back."""
    held = _rule_or_404(code)
    try:
        change = settings.confirm(held.rule, request.user, timezone.now())
    except ChangeRefused as why:
        messages.warning(request, str(why))
    else:
        messages.success(request, f"{held.rule.title}: {change}, from now on and for everybody.")
    return redirect("program:checks")


@require_POST
@for_head_coach
def check_decline(request: Request, code: str) -> HttpResponse:
    held = _rule_or_404(code)
    if settings.decline(held.rule, request.user, timezone.now()):
        messages.success(request, f"{held.rule.title} stays as it is.")
    else:
        messages.warning(request, "There is nothing to decline any more.")
    return redirect("program:checks")


def _rule_or_404(code: str) -> SetRule:
    held = settings.one_rule(code)
    if held is None:
        raise Http404
    return held
