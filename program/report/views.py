"""Reports to families: a block's, one by one, and as a family has them."""

import uuid

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django_htmx.http import HttpResponseClientRedirect

from athletes.family_frame import family_page
from athletes.health_views import looked_at
from athletes.loaders import child_or_404
from library.shared.access import Request, for_coaches, for_signed_in
from program.common.edit_conflicts import EditConflict
from program.common.loaders import block_or_404, report_or_404
from program.common.reading import report_is_read
from program.models import EarlierReport, Report
from program.report.facts import pages_of
from program.report.forms import CorrectionForm, ReportForm, to_read_again
from program.report.page import ReportPage
from program.report.writing import begin, correct, progress_of, send, without_report


@require_GET
@for_coaches
def reports(request: Request, block_id: int) -> HttpResponse:
    block = block_or_404(request.user, block_id)
    rows = list(Report.objects.written_by(request.user).filter(block=block).by_name())
    context = {
        "planned": block,
        "is_running": block.ends_on >= timezone.localdate(),
        "rows": [(row, to_read_again(row)) for row in rows],
        "ready": sum(1 for row in rows if row.generated_at and not row.sent_at),
        "progress": progress_of(block),
        "others": without_report(block),
    }
    return render(request, "program/report/reports.html", context)


@require_POST
@for_coaches
def reports_write(request: Request, block_id: int) -> HttpResponse:
    """Have all that is not sent written, or written anew; the page then shows how far it is."""
    block = block_or_404(request.user, block_id)
    begin(block)
    return redirect("program:reports", block.pk)


@require_POST
@for_coaches
def reports_go_on(request: Request, block_id: int) -> HttpResponse:
    """How far the worker has come. The page asks again and again until all are written."""
    block = block_or_404(request.user, block_id)
    progress = progress_of(block)
    address = reverse("program:reports", args=[block.pk])
    if not request.htmx:
        return redirect(address)
    if progress.is_over:
        return HttpResponseClientRedirect(address)
    context = {"planned": block, "progress": progress}
    return render(request, "program/report/reports.html#progress", context)


@require_http_methods(["GET", "POST"])
@for_coaches
def report(request: Request, block_id: int, report_id: uuid.UUID) -> HttpResponse:
    """Read a report over and put in one's own words."""
    shown = report_or_404(request.user, block_id, report_id)
    looked_at(request, shown.child)
    form = ReportForm(shown, request.POST or None)
    refusal = ""
    if request.method == "POST" and form.is_valid() and not (refusal := _save(request, form)):
        messages.success(request, "Saved.")
        return redirect(request.path)
    # The form has written what was typed into the report it was made of.
    stored = report_or_404(request.user, block_id, report_id)
    if refusal and stored.sent_at:
        return _correction(request, stored, CorrectionForm(shown, request.POST), refusal)
    context = {
        "planned": stored.block,
        "report": stored,
        "child": stored.child,
        "form": form,
        "version": stored.version if refusal else form["version"].value(),
        "refusal": refusal,
        "page": ReportPage(stored),
        "earlier": _earlier(request, stored),
        "read_again": to_read_again(stored),
    }
    status = 409 if refusal else 422 if form.errors else 200
    return render(request, "program/report/report.html", context, status=status)


def _save(request: Request, form: ReportForm) -> str:
    """ "" once kept, or why not."""
    try:
        form.save_by(request.user, timezone.now())
    except EditConflict as refused:
        return str(refused)
    return ""


def _earlier(request: Request, report: Report) -> list[ReportPage]:
    """What the family had before each correction, the latest first."""
    earlier = EarlierReport.objects.visible_to(request.user).filter(report=report)
    return [ReportPage(each) for each in earlier.select_related("sent_by", "words_by")]


@require_http_methods(["GET", "POST"])
@for_coaches
def report_correct(request: Request, block_id: int, report_id: uuid.UUID) -> HttpResponse:
    """Correct a report the family has. `anew` begins from what the logs say today."""
    stored = report_or_404(request.user, block_id, report_id)
    address = reverse("program:report", args=[block_id, report_id])
    if not stored.sent_at:
        return redirect(address)
    looked_at(request, stored.child)
    fresh = None
    if "anew" in request.GET or "anew" in request.POST:
        pages = pages_of(stored.block, [stored.child], timezone.localdate())
        fresh = pages[stored.child_id]
    # The form writes what is typed into the report it is made of.
    form = CorrectionForm(
        report_or_404(request.user, block_id, report_id), request.POST or None, fresh
    )
    refusal = ""
    if request.method == "POST" and form.is_valid() and not (refusal := _correct(request, form)):
        return redirect(address)
    return _correction(request, stored, form, refusal)


def _correction(
    request: Request, stored: Report, form: CorrectionForm, refusal: str
) -> HttpResponse:
    context = {
        "planned": stored.block,
        "report": stored,
        "child": stored.child,
        "form": form,
        "version": stored.version if refusal else form["version"].value(),
        "refusal": refusal,
        "page": ReportPage(stored),
    }
    status = 409 if refusal else 422 if form.errors else 200
    return render(request, "program/report/correct.html", context, status=status)


def _correct(request: Request, form: CorrectionForm) -> str:
    """ "" once the family has the correction, or why not."""
    try:
        is_new = correct(form, request, timezone.now())
    except ValidationError as refused:
        return str(refused.messages[0])
    except EditConflict as refused:
        return str(refused)
    told = "Corrected. The family is told." if is_new else "It is corrected already, just so."
    messages.success(request, told)
    return ""


@require_POST
@for_coaches
def report_send(request: Request, block_id: int, report_id: uuid.UUID) -> HttpResponse:
    """Send one report; asked twice, it is sent once."""
    shown = report_or_404(request.user, block_id, report_id)
    only = Report.objects.filter(pk=shown.pk)
    _say_sent(request, send(only, request, timezone.now()))
    return redirect("program:reports", block_id)


@require_POST
@for_coaches
def reports_send(request: Request, block_id: int) -> HttpResponse:
    """Send every report of the block that is ready."""
    block = block_or_404(request.user, block_id)
    these = Report.objects.written_by(request.user).filter(block=block)
    _say_sent(request, send(these, request, timezone.now()))
    return redirect("program:reports", block_id)


def _say_sent(request: Request, count: int) -> None:
    said = {0: "Nothing was left to send.", 1: "One report sent."}
    messages.success(request, said.get(count, f"{count} reports sent."))


@require_GET
@for_coaches
def reports_paper(request: Request, block_id: int) -> HttpResponse:
    """All written reports of the block, a sheet each."""
    block = block_or_404(request.user, block_id)
    mine = Report.objects.written_by(request.user).filter(block=block)
    written = mine.filter(generated_at__isnull=False).by_name()
    found = list(written.select_related("block"))
    looked_at(request, *(each.child for each in found))
    pages = [ReportPage(each) for each in found]
    return render(request, "program/report/paper.html", {"planned": block, "pages": pages})


@require_GET
@for_signed_in
def family_reports(request: Request, child_id: uuid.UUID) -> HttpResponse:
    child = child_or_404(request.user, child_id)
    sent = Report.objects.visible_to(request.user).sent().filter(child=child)
    sent = sent.with_unread(request.user).select_related("block").order_by("-sent_at")
    context = {"reports": sent}
    return family_page(request, "program/report/family_reports.html", child, context)


@require_GET
@for_signed_in
def family_report(request: Request, child_id: uuid.UUID, report_id: uuid.UUID) -> HttpResponse:
    child = child_or_404(request.user, child_id)
    sent = Report.objects.visible_to(request.user).sent().filter(child=child)
    shown = sent.with_people().with_unread(request.user).select_related("block")
    found = get_object_or_404(shown, public_id=report_id)
    looked_at(request, child)
    report_is_read(request, found)
    context = {"report": found, "page": ReportPage(found)}
    return family_page(request, "program/report/family_report.html", child, context)
