"""What the program has made of the checks: which are off, and which have another limit."""

import datetime as dt
from dataclasses import dataclass

from django.db import IntegrityError, transaction

from athletes.head_coaches import other_head_coaches
from athletes.models import User
from program.engine.checks import RULES, Limit, Rule, Setting
from program.models import CheckChange


class ChangeRefused(Exception):
    """The check stays as it is; the message says why."""


@dataclass(frozen=True)
class SetRule:
    """A rule as it holds here, with the change that made it so and those before it; `waiting` holds
    once another head coach confirms it."""

    rule: Rule
    standing: CheckChange | None
    waiting: CheckChange | None = None
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

    @property
    def to_confirm(self) -> CheckChange | None:
        """What a second head coach may confirm: what waits for one, or stands without."""
        return self.waiting or (self.standing if self.is_said_again else None)

    @property
    def is_said_again(self) -> bool:
        return setting_of(self.standing).is_said_again


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
    rule: Rule, setting: Setting, reason: str, by: User, now: dt.datetime
) -> CheckChange:
    """Write the program's word on a check, in place of the one that stood. What weakens a stop only
    waits, and what stood stands, until another head coach confirms it; where there is no other, it
    stands at once.

    Raises ChangeRefused for what is so already, and when somebody else changes it at this moment.
    """
    waits = rule.is_weakened_by(setting) and other_head_coaches(by).exists()
    try:
        with transaction.atomic():
            said = CheckChange.objects.filter(code=rule.code)
            _refuse_the_same(rule, setting, said.standing().select_for_update(of=("self",)).first())
            (said.waiting() if waits else said).end(by, now)
            least, most = setting.limit or Limit()
            return CheckChange.objects.create(
                code=rule.code,
                is_off=setting.is_off,
                least=least,
                most=most,
                reason=reason,
                by=by,
                at=now,
                awaits_second=waits,
            )
    except IntegrityError as error:
        raise ChangeRefused(
            "Somebody else changed this check just now. Nothing of yours was saved: look again."
        ) from error


@transaction.atomic
def confirm(rule: Rule, by: User, now: dt.datetime) -> CheckChange:
    """Let what waits for a second head coach hold. Raises ChangeRefused where nothing waits, and
    for whoever has said it."""
    said = CheckChange.objects.filter(code=rule.code)
    list(said.filter(ended_at=None).select_for_update(of=("self",)).values_list("pk"))
    change = _set_rule(rule, list(said.with_names())).to_confirm
    if change is None:
        raise ChangeRefused("There is nothing to confirm any more.")
    if change.by == by:
        raise ChangeRefused("You have said it yourself: another head coach has to confirm it.")
    said.standing().exclude(pk=change.pk).end(by, now)
    change.awaits_second, change.confirmed_by, change.confirmed_at = False, by, now
    change.save(update_fields=["awaits_second", "confirmed_by", "confirmed_at"])
    return change


def decline(rule: Rule, by: User, now: dt.datetime) -> bool:
    """Let what waits for a second head coach never hold; whether there was anything."""
    return CheckChange.objects.filter(code=rule.code).waiting().end(by, now) > 0


def back_to_usual(rule: Rule, by: User, now: dt.datetime) -> bool:
    """Whether there was a change to take back."""
    return CheckChange.objects.filter(code=rule.code).end(by, now) > 0


def _refuse_the_same(rule: Rule, setting: Setting, standing: CheckChange | None) -> None:
    if setting_of(standing)._replace(is_said_again=False) == setting:
        raise ChangeRefused(
            f"It is so already: {standing}, and the reason given then stands."
            if standing
            else "This is the usual limit: nothing would change."
        )
    if standing is None and not setting.is_off and setting.limit == rule.usual:
        raise ChangeRefused("This is the usual limit: nothing would change.")


def _set_rule(rule: Rule, changes: list[CheckChange]) -> SetRule:
    running = [change for change in changes if change.ended_at is None]
    standing = next((change for change in running if not change.awaits_second), None)
    waiting = next((change for change in running if change.awaits_second), None)
    return SetRule(rule, standing, waiting, tuple(c for c in changes if c not in running))


def setting_of(change: CheckChange | None) -> Setting:
    """What a change makes of its check; None changes nothing."""
    if change is None:
        return Setting()
    limit = None if change.is_off else Limit(change.least, change.most)
    setting = Setting(change.is_off, limit)
    rule = RULES.get(change.code)
    is_said_again = bool(rule and rule.is_weakened_by(setting) and not change.confirmed_at)
    return setting._replace(is_said_again=is_said_again)
