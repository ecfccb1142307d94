"""A mailed code once more, for a coach who has no second factor yet: before what somebody with that
coach's open browser must not do."""

import time
from typing import Any, Final

from allauth.account.adapter import get_adapter
from allauth.account.internal.flows.login import record_authentication
from allauth.account.views import BaseReauthenticateView
from allauth.core import ratelimit
from allauth.core.internal.cryptokit import compare_user_code
from django import forms
from django.http import HttpResponse

from athletes.models.outgoing_mail import CODE_HOLDS
from library.shared.access import Request
from program.web.accounts import CODE_MAIL, WAIT

KEPT: Final = "code_again"
"""Where the session, which is sealed, keeps what was mailed."""
TRIES: Final = 3


class MailedCodeForm(forms.Form):
    code = forms.CharField(
        label="Code",
        max_length=20,
        help_text="Eight letters and digits, from the mail",
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autofocus": True}),
    )

    def __init__(self, *args: Any, request: Request, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._request = request

    def clean_code(self) -> str:
        """It holds for three minutes and three tries, and once."""
        kept = self._request.session.pop(KEPT, None)
        if not is_open(kept):
            raise forms.ValidationError("This code holds no longer. Have another one mailed.")
        code = str(self.cleaned_data["code"])
        if not compare_user_code(actual=code, expected=kept["code"]):
            self._request.session[KEPT] = kept | {"tries": kept["tries"] + 1}
            raise forms.ValidationError("That did not fit.")
        return code


def is_open(kept: dict[str, Any] | None) -> bool:
    in_time = kept and time.time() - kept["at"] < CODE_HOLDS.total_seconds()
    return bool(kept and in_time and kept["tries"] < TRIES)


class SignInAgainByMail(BaseReauthenticateView):
    """Looked at, it offers to mail a code; that is done by sending the form."""

    form_class = MailedCodeForm
    template_name = "mfa/mailed_code.html"
    request: Request

    def post(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        if "code" in request.POST:
            answer: HttpResponse = super().post(request, *args, **kwargs)
            return answer
        return self._send()

    def _send(self) -> HttpResponse:
        person, adapter = self.request.user, get_adapter()
        form = self.get_form_class()(request=self.request)
        key = person.email.lower()
        if ratelimit.consume(self.request, action="request_login_code", key=key):
            code = adapter.generate_login_code()
            self.request.session[KEPT] = {"code": code, "at": time.time(), "tries": 0}
            adapter.send_mail(CODE_MAIL, person.email, {"code": code})
            return self._page(form)
        return self._page(form, wait=WAIT)

    def _page(self, form: forms.Form, **more: str) -> HttpResponse:
        answer: HttpResponse = self.render_to_response(self.get_context_data(form=form, **more))
        return answer

    def form_valid(self, form: Any) -> HttpResponse:
        record_authentication(self.request, self.request.user, "code", reauthenticated=True)
        answer: HttpResponse = super().form_valid(form)
        return answer

    def get_form_kwargs(self) -> dict[str, Any]:
        kwargs: dict[str, Any] = super().get_form_kwargs()
        return kwargs | {"request": self.request}

    def get_context_data(self, **more: Any) -> dict[str, Any]:
        context: dict[str, Any] = super().get_context_data(**more)
        return context | {"is_mailed": is_open(self.request.session.get(KEPT))}
