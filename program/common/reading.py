"""That a page of a family has been opened, so that what it shows is not unread any more."""

from collections.abc import Iterable

from library.shared.access import Request
from program.models import Question, ReadByFamily, Report


def answers_are_read(request: Request, shown: Iterable[Question]) -> None:
    """To be said by each page that shows them; `to_be_read_by` whoever opens it."""
    _write_down(request, "question", (each for each in shown if getattr(each, "is_unread", False)))


def report_is_read(request: Request, shown: Report) -> None:
    """It comes `with_unread`."""
    _write_down(request, "report", [shown] if getattr(shown, "is_unread", False) else [])


def _write_down(request: Request, link: str, unread: Iterable[Question | Report]) -> None:
    if not _is_ahead(request):
        ReadByFamily.objects.write_down(request.user, link, unread)


def _is_ahead(request: Request) -> bool:
    """Whether a phone fetches it to keep (static/js/worker.js), or a browser before anybody has
    followed the link."""
    return "x-keeps" in request.headers or "prefetch" in request.headers.get("sec-purpose", "")
