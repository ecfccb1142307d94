from django.http import HttpResponse
from django.views.decorators.http import require_GET

from library.access import Request, for_coaches


@require_GET
@for_coaches
def review(request: Request) -> HttpResponse:
    return HttpResponse()
