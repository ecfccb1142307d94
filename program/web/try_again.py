"""Of two transactions that wait for each other the database stops one, and undoes all of it. Its
request is then done once more, from the session on, before anybody is told that Fledge is busy.

Only where nothing at all of it was kept; what was said and remembered of it meanwhile is forgotten
with it.
"""

from collections.abc import Callable
from typing import Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from program.operations.database_trouble import was_stopped_for_another
from program.web.busy import is_nothing_changed, is_passing

TRIES: Final = 3
_MAY_TRY: Final = "fledge.may_try_again"


class TryAgain:
    """Middleware; right outside that of sessions, each try with what is stored of them."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        for _ in range(TRIES - 1):
            if not request.META.pop(_MAY_TRY, False):
                break
            answer = self.get_response(request)
        return answer

    def process_exception(self, request: HttpRequest, error: Exception) -> None:
        """Before `AnswerWhenBusy`, which stands outside of this, answers."""
        if not is_passing(error) or not is_nothing_changed(request, error):
            return
        if was_stopped_for_another(error) and not _is_at_the_door(request):
            request.META[_MAY_TRY] = not request.FILES  # which were read to their end
        _forget(request)


def _is_at_the_door(request: HttpRequest) -> bool:
    """Whether somebody is signing in or out, which changes the session that a try begins with."""
    return request.COOKIES.get(settings.SESSION_COOKIE_NAME) != request.session.session_key


def _forget(request: HttpRequest) -> None:
    """What the session was to keep, and the messages that wait for the next page."""
    request.session.modified = False
    if hasattr(request, "_messages"):
        del request._messages
