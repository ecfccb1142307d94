import json
from typing import Any, Final

from django import template
from django.conf import settings
from django.templatetags.static import static
from django.urls import reverse

from program.common.devices import owner_key

register = template.Library()

MODULES: Final = (
    "keeping",
    "follow/figure",
    "follow/machine",
    "follow/outbox",
    "follow/sound",
    "follow/view",
    "follow/visits",
)


@register.inclusion_tag("program/family/offline_kit.html", takes_context=True)
def offline_kit(context: template.Context, group: int | None = None) -> dict[str, Any]:
    """What a page carries in its head for what a device keeps: where the modules are, and what a
    family's page needs to work without a connection, or a coach's that logs the session `group`."""
    kit = {"import_map": import_map(), "csp_nonce": context.get("csp_nonce")}
    user = getattr(context.get("request"), "user", None)
    if user is None or not user.is_authenticated:
        return kit
    if not (user.is_family or context.get("as_family") or group):
        return kit
    kept = reverse("program:to_keep") + (f"?group={group}" if group else "")
    return kit | {"owner": owner_key(user), "list": kept}


@register.simple_tag(takes_context=True)
def owner(context: template.Context) -> str:
    """Whose page this is, as what is kept on a device says it."""
    return owner_key(context["request"].user)


def import_map() -> str:
    """Where the modules that import each other by their plain names are in this release."""
    names = [f"js/{name}.js" for name in MODULES]
    places = {f"/{settings.STATIC_URL.strip('/')}/{name}": static(name) for name in names}
    changed = {plain: place for plain, place in places.items() if plain != place}
    return json.dumps({"imports": changed}) if changed else ""
