"""A session's minutes: what would bring it to a number of them."""

from django.core.exceptions import BadRequest
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods

from library.shared.access import Request, for_coaches
from library.shared.ids import whole_number
from program.build import editing
from program.build.minutes import LEAST_MINUTES, MOST_MINUTES, Proposed, take
from program.build.responses import answer, builder_of, show
from program.common.edit_conflicts import is_unseen
from program.common.loaders import written_session_or_404
from program.common.session_plan import plan_of

CHANGED_MEANWHILE = (
    "The session was changed after this was worked out, so nothing was taken. Here it is anew."
)


@require_http_methods(["GET", "POST"])
@for_coaches
def minutes(request: Request, session_id: int) -> HttpResponse:
    """What would bring the session to so many minutes; posting takes it."""
    if request.method == "POST":
        return _take(request, session_id)
    builder = builder_of(request, session_id)
    asked = request.GET.get("minutes", "")
    builder.minutes = _minutes(asked) if asked else builder.session.target_minutes
    template = "panel.html#minutes" if request.htmx else "builder.html"
    return show(request, builder, template)


def _take(request: Request, session_id: int) -> HttpResponse:
    wanted = _minutes(request.POST.get("minutes", ""))
    was_changed = False
    with editing.editing(request, session_id) as session:
        if is_unseen(request.POST.get("session_version"), session.version):
            was_changed = True
            raise editing.Unchanged
        written = written_session_or_404(request.user, session_id)
        proposal = Proposed(wanted, plan_of(written), session.version).proposal
        if not proposal.changes:
            raise editing.Unchanged
        take(written, proposal)
    if was_changed:
        return answer(request, session_id, 409, said=CHANGED_MEANWHILE, minutes=wanted)
    return answer(request, session_id)


def _minutes(text: str) -> int:
    number = whole_number(text)
    if number is None:
        raise BadRequest("Minutes are a whole number.")
    return min(MOST_MINUTES, max(LEAST_MINUTES, number))
