from collections.abc import Iterable
from typing import Any

from django import template

from program.models import PainReport, SafetyRules

register = template.Library()


@register.inclusion_tag("program/log/pain_reports.html")
def pain_reports(reports: Iterable[PainReport]) -> dict[str, Any]:
    """What hurt, what follows from it, who was told, and whom to ring. One query, and none without
    a report."""
    told = list(reports)
    return {"reports": told, "rules": SafetyRules.objects.current() if told else None}


@register.inclusion_tag("program/log/spared.html")
def spared(
    reports: Iterable[PainReport], *, names: bool = False, to_coach: bool = False
) -> dict[str, Any]:
    """What is spared or waits until a coach has answered, each said once however many reports say
    so; with `names` for coaches who read of several children, `to_coach` of one."""
    said = {(each.child, each.what_it_does, each.first_to_do): each for each in reports}
    does = [each for each in said.values() if each.what_it_does]
    return {"reports": does, "names": names, "to_coach": to_coach}
