"""What leaves the program: sheets of paper and calendars."""

import uuid
from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_GET, require_http_methods

from athletes.family_frame import family_frame
from athletes.loaders import children_of
from athletes.mailing import link_to
from library.shared.access import Request, for_coaches, for_signed_in
from library.shared.acting import acting_as
from program.common.addresses import address
from program.common.loaders import assigned_or_404, notes_on, session_or_404
from program.family.calendar_feed import calendar_of, feed_of, make_feed, revoke
from program.family.printed_sheet import Sheet
from program.models import AssignedSession, CalendarFeed


def _link(request: HttpRequest) -> Callable[[AssignedSession], str]:
    return lambda session: link_to(request, address(session, session.child))


@require_GET
@for_signed_in
def sheet(request: Request, child_id: uuid.UUID, assigned_id: uuid.UUID) -> HttpResponse:
    session = assigned_or_404(request.user, child_id, assigned_id)
    if not session.may_be_done:
        return redirect(address(session, session.child))
    context = {
        "sheets": [Sheet(session, _link(request)(session), notes_on(session))],
        "name": f"{session.name}, {session.child.given_name}",
        "back": address(session, session.child),
    }
    return render(request, "program/family/printed_sheet.html", context)


@require_GET
@for_coaches
def sheets(request: Request, session_id: int) -> HttpResponse:
    """A sheet for every child that has this session, in the order of their names; none of what is
    being chosen anew."""
    session = session_or_404(request.user, session_id)
    assigned = (
        AssignedSession.objects.visible_to(request.user)
        .filter(session=session)
        .open()
        .with_slots()
        .order_by("child__given_name", "child__family_initial", "pk")
    )
    link, notes = _link(request), notes_on(*assigned)
    sheets = [Sheet(each, link(each), notes) for each in assigned]
    back = reverse("program:build", args=[session.pk])
    context = {"sheets": sheets, "name": session.name, "back": back}
    return render(request, "program/family/printed_sheet.html", context)


@require_GET
@cache_control(private=True, no_cache=True)
def calendar(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """The feed, for whoever has its key: a calendar cannot sign in."""
    feed = CalendarFeed.objects.select_related("guardian").with_key(key).first()
    if feed is None or not feed.guardian.is_active:
        raise Http404
    with acting_as(feed.guardian.pk):
        written = calendar_of(feed.guardian, timezone.localdate(), _link(request))
    return HttpResponse(written, content_type="text/calendar; charset=utf-8")


@require_http_methods(["GET", "POST"])
@for_signed_in
def calendar_address(request: Request) -> HttpResponse:
    """Where a guardian, who may be a coach besides, makes, changes and takes back the address of
    the feed."""
    if not request.user.is_family and not children_of(request.user):
        raise Http404
    if request.method == "POST":
        if request.POST.get("act") == "take back":
            revoke(request.user)
            messages.success(
                request, "The address is gone. Calendars that had it get nothing more."
            )
        else:
            make_feed(request.user, timezone.now())
            messages.success(request, "Here is a new address. Any earlier one no longer works.")
        return redirect("program:calendar_address")
    feed = feed_of(request.user)
    key = feed and feed.key
    at = key and link_to(request, reverse("program:calendar", args=[key]))
    context = {"feed": feed, "address": at}
    return render(request, "program/family/calendar.html", context | family_frame())
