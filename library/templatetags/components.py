"""Components that stand around words: `{% caution "Pain is a stop." %}Tell us.{% endcaution %}`."""

from django import template
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

register = template.Library()


@register.simple_block_tag
def empty_state(
    content: SafeString, title: str, action_url: str = "", action: str = ""
) -> SafeString:
    """What stands where nothing is yet: what this is, and the one button to begin."""
    context = {"title": title, "text": content, "action_url": action_url, "action": action}
    return render_to_string("components/empty_state.html", context)


@register.simple_block_tag
def caution(content: SafeString, rule: str) -> SafeString:
    """When to stop: the rule in one sentence, and what else."""
    return render_to_string("components/caution.html", {"rule": rule, "text": content})
