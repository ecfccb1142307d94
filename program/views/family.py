from django.http import HttpResponse
from django.views.decorators.http import require_GET

from library.access import Request, for_everyone


@require_GET
@for_everyone
def children(request: Request) -> HttpResponse:
    return HttpResponse()
