"""What the program has made of the checks: which are off, and which have another limit."""

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction

from program.engine.checks import RULES, Limit, Rule, Setting
from program.models import CheckChange

if TYPE_CHECKING:
    from athletes.models import User


class ChangeRefused(Exception):
    """The check stays as it is; the message says why."""


@dataclass(frozen=True)
class SetRule:
    """A rule as it holds here, with the change that made it so and those before it."""

    rule: Rule
    standing: CheckChange | None
    earlier: tuple[CheckChange, ...] = ()

    @property
    def limit(self) -> Limit:
        return setting_of(self.standing).limit or self.rule.usual

    @property
    def limit_in_words(self) -> str:
        return self.rule.said(self.limit)

    @property
    def usual_in_words(self) -> str:
        return self.rule.said(self.rule.usual)

    @property
    def is_off(self) -> bool:
        return self.standing is not None and self.standing.is_off


def all_rules() -> list[SetRule]:
    """Every rule in order, with all that was ever changed about it, in one query."""
    changes: dict[str, list[CheckChange]] = {}
    for change in CheckChange.objects.with_names():
        changes.setdefault(change.code, []).append(change)
    return [_set_rule(rule, changes.get(code, [])) for code, rule in RULES.items()]


def one_rule(code: str) -> SetRule | None:
    """None for a check that does not exist."""
    if code not in RULES:
        return None
    return _set_rule(RULES[code], list(CheckChange.objects.with_names().filter(code=code)))


def change_check(
    rule: Rule, setting: Setting, reason: str, by: "User", now: dt.datetime
) -> CheckChange:
    """Write the program's word on a check, in place of the one that stood.

    Raises ChangeRefused for what is so already, and when somebody else changes it at this moment.
    """
    try:
        with transaction.atomic():
            standing = CheckChange.objects.standing().filter(code=rule.code)
            _refuse_the_same(rule, setting, standing.select_for_update(of=("self",)).first())
            standing.end(by, now)
            least, most = setting.limit or Limit()
            return CheckChange.objects.create(
                code=rule.code,
                is_off=setting.is_off,
                least=least,
                most=most,
                reason=reason,
                by=by,
                at=now,
            )
    except IntegrityError as error:
        raise ChangeRefused(
            "Somebody else changed this check just now. Nothing of yours was saved: look again."
        ) from error


def back_to_usual(rule: Rule, by: "User", now: dt.datetime) -> bool:
    """Whether there was a change to take back."""
    return CheckChange.objects.filter(code=rule.code).end(by, now) > 0


def _refuse_the_same(rule: Rule, setting: Setting, standing: CheckChange | None) -> None:
    if setting_of(standing) == setting:
        raise ChangeRefused(
            f"It is so already: {standing}, and the reason given then stands."
            if standing
            else "This is the usual limit: nothing would change."
        )
    if standing is None and not setting.is_off and setting.limit == rule.usual:
        raise ChangeRefused("This is the usual limit: nothing would change.")


def _set_rule(rule: Rule, changes: list[CheckChange]) -> SetRule:
    standing = next((change for change in changes if change.ended_at is None), None)
    return SetRule(rule, standing, tuple(each for each in changes if each is not standing))


def setting_of(change: CheckChange | None) -> Setting:
    """What a change makes of its check; None changes nothing."""
    if change is None:
        return Setting()
    return (
        Setting(is_off=True) if change.is_off else Setting(limit=Limit(change.least, change.most))
    )
