"""Mails about reports: a link and the given name. What was written stays in Fledge."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from django.urls import reverse

from athletes.loaders import families_of
from athletes.mailing import link_to, notify_each
from program.models import Report

if TYPE_CHECKING:
    from library.shared.access import Request


def tell_of_reports(request: "Request", reports: Iterable[Report]) -> None:
    """Tell the family of a report that it can be read; `child` is there with each."""
    _tell_families(request, reports, "A report is ready to read", "report")


def tell_of_correction(request: "Request", report: Report) -> None:
    """Tell the family that a report they had is another one now."""
    _tell_families(request, [report], "A report is corrected", "report_corrected")


def _tell_families(request: "Request", reports: Iterable[Report], subject: str, about: str) -> None:
    by_child = {each.child_id: each for each in reports}
    people = families_of(list(by_child))
    notices = [(person, _about(request, by_child[child])) for person, child in people]
    notify_each(request, notices, subject, f"program/report/mail/{about}.txt")


def _about(request: "Request", report: Report) -> dict[str, str]:
    child = report.child
    read = reverse("program:family_report", args=[child.public_id, report.public_id])
    return {"given_name": child.given_name, "link": link_to(request, read)}
