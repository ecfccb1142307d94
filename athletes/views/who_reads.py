"""An athlete of 18 says who of the family reads on."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from athletes.models import Child, Guardianship
from athletes.turning_18 import asks_who_reads
from library.shared.access import Request, requires
from library.shared.ids import whole_number


@require_http_methods(["GET", "POST"])
@requires(lambda person: person.is_athlete)
def who_reads(request: Request) -> HttpResponse:
    child = get_object_or_404(Child.objects.visible_to(request.user), user=request.user)
    is_asked = asks_who_reads(child, timezone.localdate())
    if request.method == "POST":
        if is_asked:
            named = [whole_number(each) for each in request.POST.getlist("who")]
            Guardianship.objects.of(child).let_read_on([each for each in named if each])
            messages.success(request, "Kept. You can change it at any time.")
        return redirect("athletes:who_reads")
    context = {
        "child": child,
        "is_asked": is_asked,
        "guardianships": Guardianship.objects.of(child).select_related("guardian"),
    }
    return render(request, "athletes/who_reads.html", context)
