import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from django.conf import settings
from django.contrib.postgres.expressions import ArraySubquery
from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.db.models.functions import JSONArray
from django.utils import timezone

from athletes.models.children import Child, Guardianship, born_by, has_not_taken_over
from athletes.models.users import User

DELETED_AFTER: Final = dt.timedelta(days=14)
"""From a no to the deleting of what came in under a yes: a slip, or a parent who thinks better of
it, can be put right. Until then nobody sees it but, of photos, the family that sent them."""


class ConsentPurpose(models.TextChoices):
    """What a family agrees to. Reports of pain, what is spared and the rules for stopping depend on
    none of these."""

    TRAINING = "training", "training"
    HEALTH_NOTES = "health_notes", "words about health"
    MEASUREMENTS = "measurements", "heights"
    PHOTOS = "photos", "photos and clips"
    MAIL = "mail", "mail"


def those_who_answer(child: Child, day: dt.date) -> models.QuerySet[User]:
    """In the order of names."""
    if child.user_id is not None and child.birth_date <= born_by(day):
        return User.objects.filter(pk=child.user_id)
    return User.objects.filter(guardianships__child=child).order_by("name", "pk")


class ConsentQuerySet(models.QuerySet["Consent"]):
    def visible_to(self, user: User) -> "ConsentQuerySet":
        """Whoever may see the child."""
        return self.filter(child__in=Child.objects.visible_to(user))

    def current(self) -> "ConsentQuerySet":
        """The newest of each person, child and purpose."""
        same = Consent.objects.filter(
            child=OuterRef("child"),
            purpose=OuterRef("purpose"),
            answered_by=OuterRef("answered_by"),
        )
        return self.filter(~Exists(same.filter(pk__gt=OuterRef("pk"))))

    def counting(self, day: dt.date) -> "ConsentQuerySet":
        """The current answers of those who answer for the child on a day: its guardians then, and
        from 18 on, if it has a sign-in of its own, it alone."""
        by_guardians = has_not_taken_over(day)
        guardians = Guardianship.objects.filter(
            child=OuterRef("child"), guardian=OuterRef("answered_by")
        )
        return self.current().filter(
            (~by_guardians & Q(answered_by=F("child__user"))) | (by_guardians & Exists(guardians))
        )

    def refusals(self, purpose: ConsentPurpose, day: dt.date) -> "ConsentQuerySet":
        return self.counting(day).filter(purpose=purpose, given=False)


def agreed_to(purpose: ConsentPurpose, day: dt.date | None = None, child: str = "pk") -> Q:
    """Whether it is agreed to for a child, as a condition in a query. The stricter holds: somebody
    who answers for the child has said yes, and nobody no. `child` is the way to it from the row
    that asks."""
    said = _counting(purpose, day, child)
    return Q(Exists(said.filter(given=True))) & ~Q(Exists(said.filter(given=False)))


def refused(purpose: ConsentPurpose, day: dt.date | None = None, child: str = "pk") -> Exists:
    """Whether somebody who answers for the child has said no; who was not asked has not."""
    return Exists(_counting(purpose, day, child).filter(given=False))


def refused_before(at: dt.datetime, purpose: ConsentPurpose, child: str = "pk") -> Exists:
    """Whether somebody who answers for the child has said no before a moment, and says so still."""
    said = _counting(purpose, timezone.localdate(at), child)
    return Exists(said.filter(given=False, at__lt=at))


def _counting(purpose: ConsentPurpose, day: dt.date | None, child: str) -> ConsentQuerySet:
    on = day or timezone.localdate()
    return Consent.objects.counting(on).filter(child=OuterRef(child), purpose=purpose)


def is_agreed_to(purpose: ConsentPurpose, child: Child, day: dt.date) -> bool:
    """`agreed_to` of one child. One query."""
    said = Consent.objects.counting(day).filter(child=child, purpose=purpose)
    return FamilyAnswers.of(said).agree_to(purpose)


@dataclass(frozen=True)
class FamilyAnswers:
    """What somebody who answers for a child has said yes to, and what somebody has said no to."""

    yes: frozenset[str] = frozenset()
    no: frozenset[str] = frozenset()

    @classmethod
    def of(cls, counting: "Iterable[Consent]") -> "FamilyAnswers":
        return cls.said((each.purpose, each.given) for each in counting)

    @classmethod
    def said(cls, answers: Iterable[tuple[str, bool]]) -> "FamilyAnswers":
        """From each purpose with its yes or no, as `answers_in_json` has them."""
        all_of_them = [*answers]
        return cls(
            *(
                frozenset(p for p, given in all_of_them if given == is_yes)
                for is_yes in (True, False)
            )
        )

    def agree_to(self, purpose: ConsentPurpose) -> bool:
        """The stricter holds."""
        return purpose in self.yes - self.no

    def refuse(self, purpose: ConsentPurpose) -> bool:
        return purpose in self.no

    @property
    def differing(self) -> frozenset[str]:
        """What those who answer say both yes and no to; mail is each one's own."""
        return self.yes & self.no - {ConsentPurpose.MAIL}

    def are_silent_on(self, purpose: ConsentPurpose) -> bool:
        return purpose not in self.yes | self.no


def answers_of(child: Child, day: dt.date) -> FamilyAnswers:
    """One query."""
    return FamilyAnswers.of(Consent.objects.counting(day).filter(child=child))


def answers_in_json(day: dt.date, child: str = "pk") -> ArraySubquery:
    """All that counts of a child, to be annotated; `child` is the way to it from the row."""
    counting = Consent.objects.counting(day).filter(child=OuterRef(child)).order_by("pk")
    return ArraySubquery(counting.values(json=JSONArray("purpose", "given")))


class Consent(models.Model):
    """What somebody who answers for a child has said, on one purpose, to one text. Never changed;
    who thinks otherwise answers again, and the newest counts. Goes with the child."""

    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="consents")
    purpose = models.CharField(max_length=12, choices=ConsentPurpose)
    given = models.BooleanField(help_text="yes or no")
    version = models.PositiveSmallIntegerField(help_text="the number of the text that was read")
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField(help_text="when it was written down here")
    signed_on = models.DateField(null=True, help_text="the day on the paper, if it came on paper")
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        related_name="+",
        help_text="the coach who wrote down what came on paper",
    )

    objects = ConsentQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="consent_is_to_a_known_purpose", condition=Q(purpose__in=ConsentPurpose.values)
            ),
            models.CheckConstraint(
                name="only_paper_is_recorded_by_another",
                condition=Q(signed_on__isnull=False) | Q(recorded_by__isnull=True),
            ),
        ]
        indexes = [
            models.Index(
                fields=["child", "purpose", "answered_by", "-id"], name="newest_consent_first"
            )
        ]

    def __str__(self) -> str:
        return f"{'yes' if self.given else 'no'} to {self.get_purpose_display()}"

    @property
    def is_on_paper(self) -> bool:
        return self.signed_on is not None

    @property
    def said_on(self) -> dt.date:
        """The day on which it was said."""
        return self.signed_on or timezone.localdate(self.at)

    def outweighs_paper_of(self, day: dt.date) -> bool:
        """Whether a paper of that day says nothing new: somebody has answered here themselves on
        that day or since, or signed another paper after it."""
        return self.said_on > day or (self.said_on == day and not self.is_on_paper)
