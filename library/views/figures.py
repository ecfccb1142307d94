from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.views.decorators.cache import cache_control
from django.views.decorators.http import condition, require_safe

from library.figures import drawing, movement
from library.figures.movement import Movement
from library.loaders import revision_or_404
from library.shared.access import Request, for_signed_in
from library.shared.uploads.keeping import answer_with
from library.tempo import Tempo

DAY = 24 * 60 * 60
SIDES = ("left", "right")
WAYS = ("still", "pair")


@require_safe
@for_signed_in
@cache_control(private=True, max_age=DAY)
def figure(request: Request, slug: str) -> HttpResponse:
    """An exercise, drawn and moving at its own tempo or at that of `?tempo=3-1-1-0`.

    `?side=right` mirrors it, `?still` does not move, `?pair` shows its start beside its end.
    """
    return _sent(request, movement.drawn(slug))


@require_safe
@for_signed_in
@cache_control(private=True, max_age=DAY)
def own_figure(request: Request, slug: str, number: int) -> HttpResponse:
    """The figure that a revision carries, in the same ways; a 404 where it carries none."""
    own = revision_or_404(slug, number).movement
    return _sent(request, movement.drawn(slug, own) if own else None)


@require_safe
@for_signed_in
def picture_file(request: Request, slug: str, number: int) -> HttpResponseBase:
    """The photo or clip that a revision carries; a 404 where it carries none."""
    return answer_with(request, revision_or_404(slug, number).picture, of_a_child=False)


def _sent(request: HttpRequest, moves: Movement | None) -> HttpResponse:
    """The drawing, or that it is the one the browser has; no figure is a 404."""
    if moves is None:
        raise Http404
    side, tempo = _side(request), _tempo(request)
    way = next((name for name in WAYS if name in request.GET), "moving")
    etag = f'"{drawing.content_hash(moves, tempo, side)}-{way}"'

    @condition(etag_func=lambda request: etag)
    def answer(request: HttpRequest) -> HttpResponse:
        return _answer(_drawn(moves, way, tempo, side))

    return answer(request)


def _side(request: HttpRequest) -> str:
    asked = request.GET.get("side", "left")
    return asked if asked in SIDES else "left"


def _tempo(request: HttpRequest) -> str | None:
    """The tempo asked for; None, which is the figure's own, for none and for one without sense."""
    try:
        return str(Tempo.parse(request.GET.get("tempo", "")))
    except ValueError:
        return None


def _drawn(moves: Movement, way: str, tempo: str | None, side: str) -> str:
    match way:
        case "still":
            return drawing.still(moves, side=side)
        case "pair":
            return drawing.pair(moves, side)
        case _:
            return drawing.svg(moves, tempo, side)


def _answer(drawn: str) -> HttpResponse:
    answer = HttpResponse(drawn, content_type="image/svg+xml")
    # The drawing's own style element needs no page's nonce: it is loaded as an image.
    answer.headers["Content-Security-Policy"] = "default-src 'none'; style-src 'unsafe-inline'"
    return answer
