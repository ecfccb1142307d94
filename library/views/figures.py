from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import condition, require_safe

from library.access import Request, for_everyone
from library.figures import drawing, movement
from library.figures.movement import Movement
from library.loaders import revision_or_404

DAY = 24 * 60 * 60
SIDES = ("left", "right")


@require_safe
@for_everyone
@cache_control(private=True, max_age=DAY)
def figure(request: Request, slug: str) -> HttpResponse:
    """An exercise, drawn and moving; `?side=right` mirrors it, `?still` does not move."""
    return _sent(request, movement.drawn(slug))


@require_safe
@for_everyone
@cache_control(private=True, max_age=DAY)
def own_figure(request: Request, slug: str, number: int) -> HttpResponse:
    """The figure that a revision carries, in the same ways; a 404 where it carries none."""
    own = revision_or_404(slug, number).movement
    return _sent(request, movement.drawn(slug, own) if own else None)


def _sent(request: HttpRequest, moves: Movement | None) -> HttpResponse:
    """The drawing, or that it is the one the browser has; no figure is a 404."""
    if moves is None:
        raise Http404
    asked = request.GET.get("side", "left")
    side, is_still = asked if asked in SIDES else "left", "still" in request.GET
    etag = f'"{drawing.content_hash(moves, side=side)}{"-still" * is_still}"'

    @condition(etag_func=lambda request: etag)
    def answer(request: HttpRequest) -> HttpResponse:
        return _drawing(moves, side, is_still)

    return answer(request)


def _drawing(moves: Movement, side: str, is_still: bool) -> HttpResponse:
    drawn = (
        drawing.still(moves, moves.phases[0].name, side)
        if is_still
        else drawing.svg(moves, side=side)
    )
    answer = HttpResponse(drawn, content_type="image/svg+xml")
    # The drawing's own style element needs no page's nonce: it is loaded as an image.
    answer.headers["Content-Security-Policy"] = "default-src 'none'; style-src 'unsafe-inline'"
    return answer
