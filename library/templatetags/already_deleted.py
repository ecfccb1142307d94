from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from library.shared.already_deleted import FIELD, signed_name

register = template.Library()


@register.simple_tag(takes_context=True)
def already_deleted_field(context: template.Context, address: str, name: object) -> SafeString:
    """The hidden field of a form that takes something away; see `already_deleted`."""
    signed = signed_name(context["request"].user, address, name)
    return format_html('<input type="hidden" name="{}" value="{}">', FIELD, signed)
