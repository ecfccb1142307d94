"""What a person is mailed, and stopping it from the mail itself."""

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from athletes.consents import choose_mail
from athletes.family_frame import account_frame
from athletes.forms.people import MailForm
from athletes.mailing import person_of
from library.shared.access import Request, for_signed_in
from library.shared.acting import writing_as
from library.shared.request_ids import request_id


@require_http_methods(["GET", "POST"])
@for_signed_in
def mail_setting(request: Request) -> HttpResponse:
    # An unticked box sends nothing, so an empty form is an answer, too.
    form = MailForm(request.POST if request.method == "POST" else None, instance=request.user)
    if request.method == "POST" and form.is_valid():
        wants = request.user.wants_mail
        with transaction.atomic():
            choose_mail(request.user, timezone.now(), wanted=wants)
            request.user.save(update_fields=["session_mail"])
        messages.success(request, "You are mailed." if wants else "You are not mailed any more.")
        return redirect("athletes:mail_setting")
    context = {"form": form} | account_frame(request.user)
    return render(request, "athletes/mail_setting.html", context)


@csrf_exempt  # RFC 8058: a mail program stops them, which holds no cookie and no token of ours
@require_http_methods(["GET", "POST"])
def stop_mail(request: HttpRequest, token: str) -> HttpResponse:
    """The link and the one-click button of every notice. Nobody has to sign in to stop mails."""
    person = person_of(token)
    if person is None:
        raise Http404
    if request.method == "POST":
        with writing_as(person.pk, request_id(request)):
            choose_mail(person, timezone.now(), wanted=False)
    return render(request, "athletes/stop_mail.html", {"has_stopped": request.method == "POST"})
