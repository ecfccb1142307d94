from django.http import Http404, HttpResponse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import condition, require_safe

from library.access import Request, for_everyone
from library.figures import drawing, movement
from library.figures.movement import Movement

DAY = 24 * 60 * 60
SIDES = ("left", "right")


def _wanted(request: Request, slug: str) -> tuple[Movement, str, bool]:
    """The movement, the side that works and whether a still is asked for; no figure is a 404."""
    if not movement.is_drawn(slug):
        raise Http404
    side = request.GET.get("side", "left")
    return movement.load(slug), side if side in SIDES else "left", "still" in request.GET


def _etag(request: Request, slug: str) -> str:
    moves, side, is_still = _wanted(request, slug)
    return f'"{drawing.content_hash(moves, side=side)}{"-still" * is_still}"'


@require_safe
@for_everyone
@cache_control(private=True, max_age=DAY)
@condition(etag_func=_etag)
def figure(request: Request, slug: str) -> HttpResponse:
    """An exercise, drawn and moving; `?side=right` mirrors it, `?still` does not move."""
    moves, side, is_still = _wanted(request, slug)
    drawn = (
        drawing.still(moves, moves.phases[0].name, side)
        if is_still
        else drawing.svg(moves, side=side)
    )
    answer = HttpResponse(drawn, content_type="image/svg+xml")
    # The drawing's own style element needs no page's nonce: it is loaded as an image.
    answer.headers["Content-Security-Policy"] = "default-src 'none'; style-src 'unsafe-inline'"
    return answer
