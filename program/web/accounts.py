"""Signing in is by emailed code, for people who were invited; nobody signs up."""

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from django.contrib import messages
from django.http import HttpRequest


class ClosedSignUp(DefaultAccountAdapter):
    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def logout(self, request: HttpRequest) -> None:
        super().logout(request)
        messages.success(request, "You have signed out.")  # all that was said before is gone


def leave_messages_unread(request: HttpRequest, **signal: Any) -> None:
    """Receiver of signing in and out: what was said to one person, of a child perhaps, waits in a
    cookie of the browser and is not for the next."""
    list(messages.get_messages(request))  # what is read is gone
