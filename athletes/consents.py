"""Answering what a family is asked to agree to, and what follows from an answer at once."""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final

from django.contrib.postgres.expressions import ArraySubquery
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.db.models import OuterRef
from django.db.models.functions import JSONObject
from django.utils import timezone

from athletes.changes import lock, lock_children, tell
from athletes.consent_texts import TEXTS, ConsentText
from athletes.models import (
    Child,
    ChildQuerySet,
    Consent,
    ConsentPurpose,
    ConsentQuerySet,
    Guardianship,
    User,
)
from athletes.models.children import born_by
from athletes.models.consents import DELETED_AFTER, FamilyAnswers
from athletes.signals import Circumstance
from library.shared.dates import date_in_words

NEWER_THAN_PAPER: Final = (
    "{name} has answered since, on {day}. An older paper does not change that."
)


LEAVES_SOMETHING: Final = {ConsentPurpose.MEASUREMENTS, ConsentPurpose.PHOTOS}


@dataclass(frozen=True)
class Answer:
    """A yes or no to the text of a number."""

    given: bool
    version: int

    @classmethod
    def now(cls, purpose: ConsentPurpose, *, given: bool) -> "Answer":
        """To the text of today."""
        return cls(given, TEXTS[purpose].version)


@dataclass(frozen=True)
class Question:
    """One purpose as a page shows it: the text of today, one's `own` answer where one answers for
    the child, and what the `others` who do have said."""

    purpose: ConsentPurpose
    text: ConsentText
    own: Consent | None
    others: tuple[Consent, ...]
    today: dt.date

    @property
    def holds(self) -> bool:
        return FamilyAnswers.of(self.said).agree_to(self.purpose)

    @property
    def has_changed(self) -> bool:
        """Whether the text is another one than that which was answered."""
        return self.own is not None and self.own.version < self.text.version

    @property
    def is_open(self) -> bool:
        """Whether it is still to be answered, or again."""
        return self.own is None or self.has_changed

    @property
    def deleted_on(self) -> dt.date | None:
        """The day to come on which what came in under a yes is deleted; None where that is over, or
        nothing is to be."""
        refusals = [each.at for each in self.said if not each.given]
        if self.purpose not in LEAVES_SOMETHING or not refusals:
            return None
        day = timezone.localdate(min(refusals) + DELETED_AFTER)
        return day if day >= self.today else None

    @property
    def differs(self) -> bool:
        """Whether those who answer have said both yes and no, to what holds for the child."""
        return self.purpose in FamilyAnswers.of(self.said).differing

    @property
    def said(self) -> list[Consent]:
        """One's own answer first."""
        return [*([self.own] if self.own else []), *self.others]


@dataclass(frozen=True)
class Questions:
    """All that is asked about a child, for whoever opens the page. `may_answer` is whether it is
    this person who answers; `people` are those who do."""

    all: tuple[Question, ...]
    people: tuple[User, ...]
    may_answer: bool

    @property
    def is_first_visit(self) -> bool:
        """Whether the family's pages wait for this person's first answer."""
        training = next(each for each in self.all if each.purpose == ConsentPurpose.TRAINING)
        return self.may_answer and training.own is None

    @property
    def answers(self) -> FamilyAnswers:
        return FamilyAnswers.of(said for each in self.all for said in each.said)

    @property
    def refuse_training(self) -> bool:
        return self.answers.refuse(ConsentPurpose.TRAINING)

    @property
    def has_new_words(self) -> bool:
        return any(each.has_changed for each in self.all)

    @property
    def differing(self) -> list[Question]:
        return [each for each in self.all if each.differs]


def in_words(answers: FamilyAnswers) -> list[str]:
    """What holds for a child, as "Training: yes", each; mail is each person's own."""
    return [
        f"{text.title}: {_state(answers, purpose)}"
        for purpose, text in TEXTS.items()
        if purpose != ConsentPurpose.MAIL
    ]


def _state(answers: FamilyAnswers, purpose: ConsentPurpose) -> str:
    if answers.are_silent_on(purpose):
        return "not answered"
    return "yes" if answers.agree_to(purpose) else "no"


SAID: Final = ("purpose", "given", "version", "at", "signed_on")


def with_answers(children: ChildQuerySet) -> ChildQuerySet:
    """Each with what `questions_about` wants to know of it."""
    said = Consent.objects.current().filter(child=OuterRef("child"))
    guardians = Guardianship.objects.filter(child=OuterRef("pk")).values(
        json=JSONObject(
            pk="guardian",
            name="guardian__name",
            said=_in_json(said.filter(answered_by=OuterRef("guardian"))),
        )
    )
    own = Consent.objects.current().filter(child=OuterRef("pk"), answered_by=OuterRef("user"))
    return children.select_related("user").annotate(
        guardians_said=ArraySubquery(guardians.order_by("guardian__name", "guardian")),
        own_said=_in_json(own),
    )


def _in_json(answers: ConsentQuerySet) -> ArraySubquery:
    return ArraySubquery(answers.values(json=JSONObject(**{name: name for name in SAID})))


def questions_about(child: Child, person: User, day: dt.date) -> Questions:
    """One query, and none for a child `with_answers`. Of what others say about their own mail
    nothing is told to a family."""
    if not hasattr(child, "own_said"):
        child = with_answers(Child.objects.filter(pk=child.pk)).get()
    said = _who_said_what(child, day)
    answers = [_as_said(each, row) for each, rows in said.items() for row in rows]
    questions = tuple(_question(purpose, answers, person, day) for purpose in TEXTS)
    return Questions(questions, tuple(said), person in said)


def _who_said_what(child: Any, day: dt.date) -> dict[User, list[dict[str, Any]]]:
    """Those who answer for a child `with_answers`, in the order of names."""
    if child.user is not None and child.birth_date <= born_by(day):
        return {child.user: child.own_said}
    return {User(pk=row["pk"], name=row["name"]): row["said"] for row in child.guardians_said}


def _as_said(person: User, row: dict[str, Any]) -> Consent:
    """A row as JSON has it, with its days as days again; not to be saved."""
    at = dt.datetime.fromisoformat(row["at"])
    signed_on = dt.date.fromisoformat(row["signed_on"]) if row["signed_on"] else None
    return Consent(**(row | {"at": at, "signed_on": signed_on, "answered_by": person}))


def _question(
    purpose: ConsentPurpose, said: Iterable[Consent], person: User, today: dt.date
) -> Question:
    about = [each for each in said if each.purpose == purpose]
    own = next((each for each in about if each.answered_by == person), None)
    others = tuple(each for each in about if each is not own)
    if purpose == ConsentPurpose.MAIL and not person.is_coach:
        others = ()
    return Question(purpose, TEXTS[purpose], own, others, today)


@transaction.atomic
def answer(
    child: Child, person: User, answers: Mapping[ConsentPurpose, Answer], now: dt.datetime
) -> list[Consent]:
    """Keep what somebody who answers for the child says; the answers about it that are new. Saying
    the same to the same text again writes nothing. Raises PermissionDenied for anybody else."""
    return _written(child, person, answers, Consent(answered_by=person, at=now))


@transaction.atomic
def answer_on_paper(
    child: Child,
    person: User,
    answers: Mapping[ConsentPurpose, Answer],
    signed_on: dt.date,
    by: User,
    now: dt.datetime,
) -> list[Consent]:
    """A coach writes down what somebody who answers for the child has signed. Raises a
    ValidationError where that person has said something here on that day or since, or on a later
    paper."""
    blank = Consent(answered_by=person, at=now, signed_on=signed_on, recorded_by=by)
    return _written(child, person, answers, blank)


@transaction.atomic
def choose_mail(person: User, now: dt.datetime, *, wanted: bool) -> None:
    """Somebody wants mail, or wants none, whichever way they say so: the switch that mailing asks,
    and, of whoever answers for children, the answers that tell when it was thrown."""
    children = [*Child.objects.answered_for_by(person, timezone.localdate(now))]
    lock_children(children)
    choice = Answer.now(ConsentPurpose.MAIL, given=wanted)
    _keep_mail_choice(person, children, choice, Consent(answered_by=person, at=now))
    person.wants_mail = wanted


@transaction.atomic
def remove_guardian(guardianship: Guardianship, today: dt.date) -> None:
    """Whoever is a guardian no longer answers for the child no longer."""
    child = lock(guardianship.child)
    with _telling_of_training(child, today):
        guardianship.delete()


def _written(
    child: Child, person: User, answers: Mapping[ConsentPurpose, Answer], said: Consent
) -> list[Consent]:
    """`said` is this person's answer with everything but what it is about."""
    day = timezone.localdate(said.at)
    others = [*Child.objects.answered_for_by(person, day)] if ConsentPurpose.MAIL in answers else []
    lock_children([child, *others])
    if not Child.objects.answered_for_by(person, day).contains(child):
        raise PermissionDenied
    if said.signed_on:
        _refuse_older(child, person, answers, said.signed_on)
    with _telling_of_training(child, day):
        new = _keep([child], answers, said)
    if choice := answers.get(ConsentPurpose.MAIL):
        _keep_mail_choice(person, others, choice, said)
    return new


def _keep_mail_choice(
    person: User, children: Collection[Child], choice: Answer, said: Consent
) -> None:
    """The switch that mailing asks, and with each of these children, who are locked, the answer."""
    _keep(children, {ConsentPurpose.MAIL: choice}, said)
    User.objects.filter(pk=person.pk).update(wants_mail=choice.given)


def _keep(
    children: Collection[Child], answers: Mapping[ConsentPurpose, Answer], said: Consent
) -> list[Consent]:
    """Write what is not said already, of these children, who are locked."""
    current = Consent.objects.current().filter(
        child__in=children, answered_by=said.answered_by, purpose__in=answers
    )
    there = {(each.child_id, each.purpose): (each.given, each.version) for each in current}
    return Consent.objects.bulk_create(
        Consent(
            child=child,
            purpose=purpose,
            given=each.given,
            version=each.version,
            answered_by=said.answered_by,
            at=said.at,
            signed_on=said.signed_on,
            recorded_by=said.recorded_by,
        )
        for child in children
        for purpose, each in answers.items()
        if there.get((child.pk, purpose)) != (each.given, each.version)
    )


@contextmanager
def _telling_of_training(child: Child, day: dt.date) -> Iterator[None]:
    """What is ahead of the child, who is locked, is closed or chosen anew where it comes to be
    refused, or is so no longer."""
    refusals = Consent.objects.refusals(ConsentPurpose.TRAINING, day).filter(child=child)
    before = refusals.exists()
    yield
    if refusals.exists() != before:
        tell(child, Circumstance.CONSENT)


def _refuse_older(
    child: Child, person: User, answers: Mapping[ConsentPurpose, Answer], signed_on: dt.date
) -> None:
    current = Consent.objects.current()
    for each in current.filter(child=child, answered_by=person, purpose__in=answers):
        if each.outweighs_paper_of(signed_on):
            said = NEWER_THAN_PAPER.format(name=person, day=date_in_words(each.said_on))
            raise ValidationError(said, code="older")
