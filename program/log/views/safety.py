"""What the program sets about pain and the way back: from when a place is spared, whom families
ring, and what comes before each step."""

from django.contrib import messages
from django.forms import modelform_factory
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from library.shared.access import Request, for_head_coach
from program.models import SafetyRules

SafetyForm = modelform_factory(
    SafetyRules,
    fields=[
        "spares_from",
        "call_whom",
        "call_number",
        "pain_free_days",
        "sessions_at_a_step",
        "lighter_after_days",
        "lighter_after_illness",
    ],
)


@require_http_methods(["GET", "POST"])
@for_head_coach
def safety(request: Request) -> HttpResponse:
    rules = SafetyRules.objects.current()
    form = SafetyForm(request.POST or None, instance=rules)
    if request.method == "POST" and form.is_valid():
        SafetyRules.objects.change(request.user, timezone.now(), **form.cleaned_data)
        messages.success(request, "Kept, and in force for whatever is reported from now on.")
        return redirect("program:safety")
    status = 422 if form.errors else 200
    context = {"form": form, "rules": rules}
    return render(request, "program/log/safety.html", context, status=status)
