from typing import Any

from django import template

from program.models import WelfareOfficer

register = template.Library()


@register.inclusion_tag("program/welfare/too_few.html")
def too_few_officers() -> dict[str, Any]:
    """That nothing can be reported yet; one query."""
    return {"are_enough": WelfareOfficer.objects.are_enough()}
