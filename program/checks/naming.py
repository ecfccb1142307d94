"""Whom a check result means, by name: for the page of somebody who may see these children. What is
stored or logged of a check names nobody."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from athletes.models import Child, User
from program.checks.session_checks import KeptResult
from program.engine.wording import listed

NAMED_AT_MOST: Final = 2


def with_names(results: Iterable[KeptResult], user: User) -> list[KeptResult]:
    """The results, each with the children it means in words, as far as the user may see them; in
    one query, and in none where they mean nobody by itself."""
    results = list(results)
    meant = {key for each in results for key in each.result.who}
    found = Child.objects.visible_to(user).filter(pk__in=meant) if meant else []
    names = {child.pk: str(child) for child in found}
    return [replace(each, who=_in_words(each.result.who, names)) for each in results]


def _in_words(who: Sequence[int], names: dict[int, str]) -> str:
    """ "Mia T., Jonas K. and 3 more are not placed on landing.", in the order of names."""
    if not who:
        return ""
    named = sorted(names[key] for key in who if key in names)
    shown = named if len(named) == len(who) <= NAMED_AT_MOST + 1 else named[:NAMED_AT_MOST]
    more = len(who) - len(shown)
    if not shown:
        return ""
    whole = listed([*shown, f"{more} more"]) if more else listed(shown)
    return f"{whole} {'is' if len(who) == 1 else 'are'} not placed on landing."
