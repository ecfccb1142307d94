"""Whom a check result means, by name: for the page of somebody who may see these children. What is
stored or logged of a check names nobody."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from athletes.models import Child, Cohort, User
from program.checks.session_checks import KeptResult
from program.engine.checks import CheckResult
from program.engine.wording import groups_in_words, listed

NAMED_AT_MOST: Final = 2


def with_names(results: Iterable[KeptResult], user: User) -> list[KeptResult]:
    """The results, each with the children it means in words, as far as the user may see them, and
    the other groups that it comes from, by name where they are the user's too. In two queries at
    most, and in none where they mean nobody by itself."""
    results = list(results)
    meant = {key for each in results for key in each.result.who}
    found = Child.objects.remembered_by(user).filter(pk__in=meant) if meant else []
    names = {child.pk: str(child) for child in found}
    from_groups = {key for each in results for key in each.result.groups}
    seen = Cohort.objects.visible_to(user).filter(pk__in=from_groups) if from_groups else []
    groups = {cohort.pk: str(cohort) for cohort in seen}
    return [replace(each, who=_in_words(each.result, names, groups)) for each in results]


def _in_words(result: CheckResult, names: dict[int, str], groups: dict[int, str]) -> str:
    """ "Mia T., Jonas K. and 3 more are not placed on landing.", "Mia T., with Gymnasts and another
    group.", "Mia T."; in the order of names."""
    who = result.who
    named = sorted(names[key] for key in who if key in names)
    shown = named if len(named) == len(who) <= NAMED_AT_MOST + 1 else named[:NAMED_AT_MOST]
    more = len(who) - len(shown)
    if not shown:
        return ""
    whole = listed([*shown, f"{more} more"]) if more else listed(shown)
    if result.code == "landing_first":
        return f"{whole} {'is' if len(who) == 1 else 'are'} not placed on landing."
    if result.groups:
        return f"{whole}, with {groups_in_words(result.groups, groups)}."
    return f"{whole.removesuffix('.')}."
