from typing import Any

from django import template

from program.offline import owner_key

register = template.Library()


@register.inclusion_tag("program/offline_kit.html", takes_context=True)
def offline_kit(context: template.Context) -> dict[str, Any]:
    """What a family's page carries in its head so that it also works without a connection."""
    user = getattr(context.get("request"), "user", None)
    if user is None or not user.is_authenticated or not user.is_family:
        return {}
    return {"owner": owner_key(user), "csp_nonce": context.get("csp_nonce")}
