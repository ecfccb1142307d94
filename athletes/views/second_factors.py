from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from athletes.second_factor import reset, with_second_factor
from library.shared.access import Request, asks_again, for_head_coach


@require_http_methods(["GET", "POST"])
@for_head_coach
@asks_again
def reset_second_factor(request: Request, pk: int) -> HttpResponse:
    """For somebody who lost theirs; nobody resets their own."""
    person = get_object_or_404(with_second_factor().exclude(pk=request.user.pk), pk=pk)
    if request.method == "POST":
        reset(person)
        messages.success(request, f"{person} signs in by mailed code alone now, and was told.")
        return redirect("athletes:people")
    return render(request, "athletes/reset_second_factor.html", {"person": person})
