import csv
import uuid

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from athletes.forms.importing import UploadForm
from athletes.importing.columns import Column
from athletes.importing.drafts import Imported, Preview, ask, draft_of, preview, take_over
from athletes.importing.tables import UTF_8, Unreadable
from athletes.importing_mail import answer_asked, tell_asker
from athletes.invitation_mail import mail_invitations
from athletes.loaders import draft_or_404
from athletes.models import Cohort, ImportDraft
from athletes.models.invitations import TooManyInvitations
from library.shared.access import Request, for_coaches
from library.shared.csv_cells import as_text


@require_http_methods(["GET", "POST"])
@for_coaches
def import_children(request: Request) -> HttpResponse:
    cohorts = Cohort.objects.visible_to(request.user)
    posted = (request.POST, request.FILES) if request.method == "POST" else ()
    form = UploadForm(*posted, cohorts=cohorts)
    if request.method == "POST" and form.is_valid():
        draft = _draft(request, form)
        if draft:
            return redirect("athletes:import_preview", draft.public_id)
    return render(request, "athletes/import.html", {"form": form})


def _draft(request: Request, form: UploadForm) -> ImportDraft | None:
    """None, with the error at the field, if the file cannot be taken for a table of children."""
    content = form.cleaned_data["file"].read()
    try:
        return draft_of(content, form.cleaned_data["cohort"], request.user, timezone.now())
    except Unreadable as reason:
        form.add_error("file", str(reason))
        return None


@require_GET
@for_coaches
def import_sample(request: Request) -> HttpResponse:
    """A file that imports as it is, once its cohort is yours."""
    cohort = Cohort.objects.visible_to(request.user).first()
    year = timezone.localdate().year
    answer = HttpResponse(
        headers={
            "Content-Type": "text/csv; charset=utf-8",
            "Content-Disposition": 'attachment; filename="children.csv"',
        }
    )
    # Spreadsheets take a file for UTF-8 only if it says so.
    answer.write("\ufeff")
    table = csv.writer(answer)
    table.writerow(Column)
    name = as_text(cohort.name) if cohort else "Name of the cohort"
    table.writerow(["Mira", "T", f"{year - 10}-06-15", "girl", name, "parent@example.org"])
    table.writerow(["Ivo", "T", f"{year - 12}-02-03", "", name, "parent@example.org"])
    return answer


@require_GET
@for_coaches
def import_preview(request: Request, public_id: uuid.UUID) -> HttpResponse:
    draft = draft_or_404(request.user, public_id)
    if draft.used_at:
        return _done(request, Imported(draft.added))
    month_first = draft.month_first or request.GET.get("order") == "month"
    seen = preview(draft, request.user, timezone.localdate(), month_first=month_first)
    context = {
        "draft": draft,
        "preview": seen,
        "month_first": month_first,
        "columns": [column for column in Column if column in seen.columns.at],
        "count": len(seen.new) + len(seen.joining),
        "may_confirm": _may_confirm(request, draft, seen),
        "guessed": seen.table.encoding != UTF_8,
    }
    return render(request, "athletes/import_preview.html", context)


def _may_confirm(request: Request, draft: ImportDraft, seen: Preview) -> bool:
    is_asked = draft.asked_at and not request.user.may_add_children
    return not is_asked and bool(seen.new or seen.joining)


@require_POST
@for_coaches
def import_confirm(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """A head coach adds them; a coach asks a head coach to."""
    draft = draft_or_404(request.user, public_id)
    month_first = draft.month_first or request.POST.get("order") == "month"
    now, today = timezone.now(), timezone.localdate()
    if not request.user.may_add_children:
        with transaction.atomic():
            asked = ask(draft, now, today, month_first=month_first)
            return answer_asked(request, draft, asked)
    try:
        with transaction.atomic():
            imported = take_over(draft, request.user, now, today, month_first=month_first)
            mail_invitations(request, imported.invitations)
            if not draft.used_at:
                tell_asker(request, draft, request.user, is_added=True)
    except TooManyInvitations as refused:
        messages.warning(request, f"Nobody was added. {' '.join(refused.messages)}")
        return redirect("athletes:import_preview", draft.public_id)
    except IntegrityError:
        messages.warning(
            request, "Somebody added one of these children at this moment. Look once more."
        )
        return redirect("athletes:import_preview", draft.public_id)
    return _done(request, imported)


def _done(request: Request, imported: Imported) -> HttpResponse:
    count = imported.added
    added = f"{count} {'child is' if count == 1 else 'children are'} added."
    messages.success(
        request, f"{added} What is published for their cohorts reaches them by itself."
    )
    return redirect("athletes:children")


@require_POST
@for_coaches
def import_drop(request: Request, public_id: uuid.UUID) -> HttpResponse:
    """Forget the file without adding anyone."""
    draft = draft_or_404(request.user, public_id)
    with transaction.atomic():
        tell_asker(request, draft, request.user, is_added=False)
        draft.delete()
    messages.success(request, "Nothing was added, and what was kept of it is forgotten.")
    return redirect("athletes:children" if draft.asked_at else "athletes:import")
