"""A session's minutes: what would bring it to a number of them; and the last edit undone."""

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from library.shared.access import Request, for_coaches
from library.shared.ids import whole_number
from program.build import editing, undoing
from program.build.minutes import LEAST_MINUTES, MOST_MINUTES, Proposed, take
from program.build.responses import answer, builder_of, show
from program.common.deleted_items import CannotRestore
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


@require_POST
@for_coaches
def undo(request: Request, session_id: int) -> HttpResponse:
    """The last edit of this coach undone, as long as nobody has changed the session since."""
    said = ""
    with editing.editing(request, session_id, remembers=False) as session:
        try:
            undoing.undo(request.session, session)
        except (undoing.CannotUndo, CannotRestore) as why:
            said = str(why)
            raise editing.Unchanged from why
    if said and not request.htmx:
        messages.info(request, said)
    return answer(request, session_id, said=said)
