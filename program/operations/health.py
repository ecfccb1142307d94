"""For whatever watches over the web process and asks every few seconds: is it alive, is it ready?

Nothing here touches a session or tells of anybody, and neither the name of a host nor https is
asked for: a probe comes from beside, over plain http and by a number.
"""

from django.http import HttpRequest, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from program.operations.checks import CHECKS


@require_GET
@never_cache
def live(request: HttpRequest) -> JsonResponse:
    """The process answers; whether anything else does is not its fault."""
    return JsonResponse({"live": True})


@require_GET
@never_cache
def ready(request: HttpRequest) -> JsonResponse:
    """Whether pages can be served from here; if not, the first thing that stands in the way."""
    for check in CHECKS:
        if check.for_ready and check.run().is_wrong:
            return JsonResponse({"ready": False, "wrong": check.name}, status=503)
    return JsonResponse({"ready": True})
