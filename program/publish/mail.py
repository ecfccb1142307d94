"""Mails to the families of a session that is called off or moved: a given name, the day and a
link. What the coach says to it stands in Fledge."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from athletes.loaders import families_of
from athletes.mailing import link_to, notify_each
from library.shared.dates import weekday_and_date
from program.common.addresses import address
from program.models import AssignedSession

if TYPE_CHECKING:
    from library.shared.access import Request


def tell_it_is_called_off(request: "Request", sessions: Iterable[AssignedSession]) -> None:
    """Call these in the transaction of the change; `child` is there with each session."""
    _tell(request, sessions, "A session is called off", "called_off")


def tell_it_takes_place(request: "Request", sessions: Iterable[AssignedSession]) -> None:
    _tell(request, sessions, "A session takes place after all", "takes_place")


def tell_it_is_moved(request: "Request", sessions: Iterable[AssignedSession]) -> None:
    _tell(request, sessions, "A session is on another day", "moved")


def _tell(
    request: "Request", sessions: Iterable[AssignedSession], subject: str, about: str
) -> None:
    """Whoever has several of the sessions is told of each child once."""
    by_child: dict[int, list[AssignedSession]] = {}
    for each in sessions:
        by_child.setdefault(each.child_id, []).append(each)
    notices = [
        (person, _about(request, by_child[child])) for person, child in families_of(list(by_child))
    ]
    notify_each(request, notices, subject, f"program/publish/mail/{about}.txt")


def _about(request: "Request", sessions: list[AssignedSession]) -> dict[str, object]:
    first = sessions[0]
    return {
        "given_name": first.child.given_name,
        "days": [weekday_and_date(each.date) for each in sessions],
        "link": link_to(request, address(first, first.child)),
    }
