"""What is at home, of a whole cohort."""

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from athletes.changes import lock_children
from athletes.forms.kits import KitTableForm
from athletes.invitation_mail import ask_about_kit
from athletes.kit_table import KitTable, may_be_asked, not_answered
from athletes.loaders import cohort_or_404
from athletes.models import Child, Cohort
from library.shared.access import Request, for_coaches


@require_GET
@for_coaches
def all_kits(request: Request) -> HttpResponse:
    """The first cohort, or what has to be there before."""
    cohort = Cohort.objects.visible_to(request.user).first()
    if cohort is None:
        return render(request, "athletes/kits_empty.html")
    return redirect("athletes:kits", cohort.pk)


@require_http_methods(["GET", "POST"])
@for_coaches
def kits(request: Request, cohort_id: int) -> HttpResponse:
    cohort = cohort_or_404(request.user, cohort_id)
    today, page = timezone.localdate(), request.GET.get("page")
    table = KitTable.of(cohort, today, page)
    trouble = ""
    if request.method == "POST":
        form = KitTableForm(request.POST, table=table)
        if form.is_valid():
            saved = form.save(request.user)
            _say_kept(request, saved.kept)
            if not saved.unseen:
                return redirect(request.get_full_path())
            table = KitTable.of(cohort, today, page, mine=saved.unseen)
        else:
            trouble = form.trouble
            table = KitTable.of(cohort, today, page, ticks=form.ticks)
    cohorts = Cohort.objects.visible_to(request.user)
    context = {"table": table, "cohorts": cohorts, "trouble": trouble}
    return render(request, "athletes/kits.html", context)


def _say_kept(request: Request, kept: list[Child]) -> None:
    if kept:
        homes = "home is" if len(kept) == 1 else "homes are"
        messages.success(request, f"{len(kept)} {homes} saved.")


@require_POST
@for_coaches
def kits_ask(request: Request, cohort_id: int) -> HttpResponse:
    """Ask all families of a cohort who have not said what is at home, once a day."""
    cohort = cohort_or_404(request.user, cohort_id)
    today = timezone.localdate()
    with transaction.atomic():
        lock_children(not_answered(cohort, today))
        children = may_be_asked(not_answered(cohort, today), today)
        reached = ask_about_kit(request, children)
    _say_asked(request, reached, [child for child in children if child not in reached])
    return redirect("athletes:kits", cohort.pk)


def _say_asked(request: Request, reached: list[Child], nobodys: list[Child]) -> None:
    if reached:
        families = "family is" if len(reached) == 1 else "families are"
        messages.success(request, f"{len(reached)} {families} asked: {_named(reached)}.")
    if nobodys:
        messages.warning(
            request, f"Nobody to mail for {_named(nobodys)}: no guardian here who wants mail."
        )
    if not reached:
        messages.info(request, "Whoever can be asked by mail was asked today.")


def _named(children: list[Child]) -> str:
    return ", ".join(map(str, children))
