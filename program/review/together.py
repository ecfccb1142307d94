"""Answering equal findings of several children in one transaction, and taking that back.

Each child has an answer of its own, as if it had been given alone; those given in one press know of
each other.
"""

import datetime as dt
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from django.core.exceptions import ValidationError
from django.db import transaction

from athletes.changes import lock_children
from athletes.models import Child, User
from program.engine.wording import plural
from program.models import Resolution
from program.models.resolutions import TOGETHER, Do
from program.review.decisions import CannotUndo, hand, put_off, resolve, undo
from program.review.finding import Finding
from program.review.groups import are_alike

ONE_BY_ONE: Final = "These are answered one by one."


@dataclass(frozen=True)
class Answered:
    """The answers of one press; of `answered_already` somebody else's stays."""

    answers: tuple[Resolution, ...]
    answered_already: int = 0

    def without(self, gone: int) -> "Answered":
        """With so many more that were answered already."""
        return replace(self, answered_already=self.answered_already + gone)

    @property
    def children(self) -> list[Child]:
        return [each.child for each in self.answers]

    @property
    def sentence(self) -> str:
        """ "3 children: Time for a height: not now. 1 was answered already." """
        sent = sum(len(each.before.get("invited", ())) for each in self.answers)
        if sent:
            told = f"{plural(sent, 'invitation')} {'is' if sent == 1 else 'are'} sent again."
        elif self.answers:
            told = f"{plural(len(self.answers), 'child', 'children')}: {_said(self.answers)}"
        else:
            told = ""
        if n := self.answered_already:
            were = "was" if n == 1 else "were"
            told = f"{told} {n} {were} answered already."
        return told.strip()


def _said(answers: Sequence[Resolution]) -> str:
    """What is the same in all sentences: all of it, or what comes after the headlines."""
    said = {each.sentence for each in answers}
    return said.pop() if len(said) == 1 else answers[0].sentence.rpartition(": ")[2]


def resolve_together(
    findings: Sequence[Finding], label: str, by: User, now: dt.datetime, today: dt.date
) -> Answered:
    """Take the action of this label for each. Raises a ValidationError where some of it cannot be
    done, and does nothing then."""

    def answer(finding: Finding, together: str) -> Resolution:
        action = finding.action_for_all(label)
        if action is None:
            raise ValidationError("Choose one of the buttons.", code="unknown")
        return resolve(finding, action, by, now, today, together=together)

    return _each(findings, answer)


def put_off_together(
    findings: Sequence[Finding], until: dt.date, by: User, now: dt.datetime, today: dt.date
) -> Answered:
    """Raises UnfitDay."""
    return _each(
        findings, lambda one, together: put_off(one, until, by, now, today, together=together)
    )


def hand_together(
    findings: Sequence[Finding], to: int, by: User, now: dt.datetime, today: dt.date, origin: str
) -> Answered:
    """Raises NotACoach where it is not a coach of all of them."""
    return _each(
        findings, lambda one, together: hand(one, to, by, now, today, origin, together=together)
    )


def note_invited_again(
    findings: Sequence[Finding],
    sent: dict[int, list[int]],
    by: User,
    now: dt.datetime,
    today: dt.date,
) -> Answered:
    """Out of the queue for a week: the invitations of these keys were sent, by the child's key."""

    def answer(finding: Finding, together: str) -> Resolution:
        action = next(each for each in finding.actions if each.do is Do.INVITE_AGAIN)
        done = {"invited": sent[finding.who.child.pk]}
        return resolve(finding, action, by, now, today, together=together, done=done)

    return _each([each for each in findings if each.who.child.pk in sent], answer)


@transaction.atomic
def _each(findings: Sequence[Finding], answer: Callable[[Finding, str], Resolution]) -> Answered:
    if not are_alike(findings):
        raise ValidationError(ONE_BY_ONE, code="one by one")
    lock_children(each.who.child for each in findings)
    together = uuid.uuid4().hex
    given = [answer(each, together) for each in findings]
    mine = tuple(each for each in given if each.before.get(TOGETHER) == together)
    return Answered(mine, len(given) - len(mine))


@dataclass(frozen=True)
class TakenBack:
    """Whose answers were taken back, and whose stay since something else was decided."""

    back: tuple[Child, ...]
    stays: tuple[Child, ...]


@transaction.atomic
def undo_together(resolution: Resolution, by: User, now: dt.datetime) -> TakenBack:
    """All that was given in the same press."""
    own = Child.objects.coached_by(by)
    seen = Resolution.objects.visible_to(by).filter(child__in=own)
    seen = seen.standing().together_with(resolution)
    answers = list(seen.select_related("child"))
    lock_children(each.child for each in answers)
    back, stays = [], []
    for each in answers:
        try:
            undo(each, by, now)
            back.append(each.child)
        except CannotUndo:
            stays.append(each.child)
    return TakenBack(tuple(back), tuple(stays))
