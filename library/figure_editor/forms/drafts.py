"""A figure that is being changed and kept nowhere yet: it travels with its page, signed."""

from django.core import signing
from django.core.exceptions import BadRequest

from library.figures.movement import Movement, read_own

SALT = "library.forms.drafts"


def packed(movement: Movement) -> str:
    return signing.dumps(movement.text, salt=SALT, compress=True)


def unpacked(slug: str, draft: str) -> Movement | None:
    """The figure of a page's draft, None without one; BadRequest for one that we did not write."""
    if not draft:
        return None
    try:
        return read_own(slug, signing.loads(draft, salt=SALT))
    except signing.BadSignature as problem:
        raise BadRequest("The draft of this figure cannot be read.") from problem
