"""Signing in is by emailed code, for people who were invited; nobody signs up."""

from typing import Any, Final

from allauth.account import views as account
from allauth.account.adapter import DefaultAccountAdapter, get_adapter
from allauth.account.forms import RequestLoginCodeForm
from django.contrib import messages
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from athletes.known_browsers import is_known, mail_of, remember
from athletes.mailing import send_code
from athletes.models import User
from athletes.session_store import SessionStore

CODE_MAIL: Final = "account/email/login_code"

WAIT: Final = "Too many wrong codes. Wait five minutes, then try again."


class ClosedSignUp(DefaultAccountAdapter):
    error_messages = DefaultAccountAdapter.error_messages | {
        "rate_limited": WAIT,
        "too_many_login_attempts": WAIT,
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """A sign-in code, which is all that allauth mails here."""
        mail = self.render_mail(template_prefix, email, context)
        send_code(email, mail.subject, mail.body)

    def get_reauthentication_methods(self, user: User | AnonymousUser) -> list[dict[str, Any]]:
        """A passkey first, where there is one: nothing is to be typed. A coach who has no second
        factor yet has a code mailed."""
        ways: list[dict[str, Any]] = super().get_reauthentication_methods(user)
        if not ways and isinstance(user, User) and user.is_coach:
            page = reverse("sign_in_again_by_mail")
            return [{"id": "mailed_code", "description": "Have a code mailed", "url": page}]
        return sorted(ways, key=lambda way: way["url"] != reverse("mfa_reauthenticate_webauthn"))

    def respond_user_inactive(self, request: HttpRequest, user: Any) -> HttpResponseBase:
        """A passkey of somebody who was switched off opens nothing, and tells no more than that."""
        messages.error(request, "This passkey does not sign anybody in here.")
        return redirect("account_login")

    def login(self, request: HttpRequest, user: Any) -> None:
        """A browser that is new to somebody is told of, but not with the first sign-in of all."""
        is_first = user.last_login is None
        super().login(request, user)
        if (
            not is_first
            and not is_known(request, user)
            and isinstance(request.session, SessionStore)
        ):
            request.session.mail = mail_of(request, user)

    def post_login(self, request: HttpRequest, user: Any, **how: Any) -> HttpResponseBase:
        answer: HttpResponseBase = super().post_login(request, user, **how)
        remember(request, answer, user)
        return answer

    def logout(self, request: HttpRequest) -> None:
        super().logout(request)
        messages.success(request, "You have signed out.")  # all that was said before is gone


@require_POST
def sign_out(request: HttpRequest) -> HttpResponseBase:
    """What the browser has fetched so far goes with it. What a phone has still to send lies
    elsewhere and stays."""
    answer: HttpResponseBase = account.logout(request)
    answer.headers["Clear-Site-Data"] = '"cache"'
    return answer


class CodeForm(RequestLoginCodeForm):
    """Asks for a code. Where no member has the address, the same work is done for nobody: how long
    the answer takes must not tell who is a member."""

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean()
        if data.get("email") and not self._user:
            adapter = get_adapter()
            adapter.send_mail(CODE_MAIL, "", {"code": adapter.generate_login_code()})
        return data


def leave_messages_unread(request: HttpRequest, **signal: Any) -> None:
    """Receiver of signing in and out: what was said to one person, of a child perhaps, waits in a
    cookie of the browser and is not for the next."""
    list(messages.get_messages(request))  # what is read is gone
