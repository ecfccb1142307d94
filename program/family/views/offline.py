"""What makes the family's pages work without a connection."""

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_GET

from library.shared.access import Request, for_signed_in
from library.shared.ids import whole_number
from program.common.devices import sign_in_key
from program.family.offline import to_keep, worker_script


@require_GET
@cache_control(no_cache=True)
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker, from the root, so that it may serve every page."""
    return HttpResponse(worker_script(), content_type="text/javascript")


@require_GET
@cache_control(max_age=60 * 60 * 24)
def manifest(request: HttpRequest) -> JsonResponse:
    """What a phone needs to put Fledge among its apps."""
    icons = [
        {"src": static(f"brand/icon-{size}.png"), "sizes": f"{size}x{size}", "type": "image/png"}
        for size in (192, 512)
    ]
    told = {
        "name": "Fledge",
        "short_name": "Fledge",
        "start_url": reverse("program:home"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#f6f3ea",
        "theme_color": "#f6f3ea",
        "icons": icons,
    }
    return JsonResponse(told, content_type="application/manifest+json")


@require_GET
def no_connection(request: HttpRequest) -> HttpResponse:
    """What is shown without a connection where the page asked for is not kept."""
    return render(request, "program/family/no_connection.html")


@require_GET
@for_signed_in
@cache_control(private=True, no_store=True)
def to_keep_list(request: Request) -> JsonResponse:
    """The addresses of all that this family's phone or this coach's tablet should keep, and for
    which sign-in. `group` is the session whose log a coach has open."""
    user, today = request.user, timezone.localdate()
    opened = whole_number(request.GET.get("group"))
    kept = to_keep(user, today, opened)
    return JsonResponse(kept | {"signIn": sign_in_key(request)})
