"""What a coach asks a head coach to add, and what is said and mailed of it. Each mail is written in
the transaction of what it tells of, and names no child."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from athletes.mailing import notify
from athletes.models import ImportDraft, Role, User


def answer_asked(request: HttpRequest, draft: ImportDraft, count: int) -> HttpResponse:
    """The same words whether the children are here already or not."""
    heads = User.objects.filter(role=Role.HEAD_COACH)
    context = {"by": draft.owner.name, "link": _link(request, draft)}
    subject = "A coach asks to add to a cohort"
    notify(request, heads, subject, "athletes/mail/asked_to_add.txt", context)
    whom = "1 child" if count == 1 else f"{count} children"
    messages.success(
        request, f"The head coach is asked to add {whom}. You find them on this list then."
    )
    return redirect("athletes:children")


def tell_asker(request: HttpRequest, draft: ImportDraft, by: User, *, is_added: bool) -> None:
    """Tell whoever asked what a head coach did; nobody is told of what they did themselves."""
    if draft.asked_at and draft.owner != by:
        link = request.build_absolute_uri(reverse("athletes:children"))
        context = {"by": by.name, "link": link, "is_added": is_added}
        subject = "A head coach has looked at what you asked for"
        notify(request, [draft.owner], subject, "athletes/mail/asked_answered.txt", context)


def _link(request: HttpRequest, draft: ImportDraft) -> str:
    return request.build_absolute_uri(reverse("athletes:import_preview", args=[draft.public_id]))
