from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET

from library.access import Request, for_coaches, for_everyone


@require_GET
@for_everyone
def home(request: Request) -> HttpResponse:
    """Everyone's own first page: a coach's week, a family's children."""
    return redirect("program:week" if request.user.is_coach else "program:family")


@require_GET
@for_coaches
def this_week(request: Request) -> HttpResponse:
    return HttpResponse()
