from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.cache import patch_vary_headers
from django.views.decorators.http import require_GET

from library.exercise_list import found
from library.exercise_page import exercise_page
from library.forms.search import FindForm
from library.models import Exercise
from library.pathway_order import PathwayOrder
from library.shared.access import Request, for_coaches


@require_GET
@for_coaches
def exercise_list(request: Request) -> HttpResponse:
    form = FindForm(request.GET)
    shelf = PathwayOrder.read()
    context = {
        "form": form,
        "shelf": shelf,
        "found": found(form, shelf, request.GET.get("page", "1")),
    }
    part = "#found" if request.htmx and not request.htmx.history_restore_request else ""
    answer = render(request, f"library/list.html{part}", context)
    patch_vary_headers(answer, ["HX-Request"])
    return answer


@require_GET
@for_coaches
def exercise(request: Request, slug: str) -> HttpResponse:
    one = get_object_or_404(Exercise.objects.with_full_page(), slug=slug)
    return render(request, "library/exercise.html", {"page": exercise_page(one)})
