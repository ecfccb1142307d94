import datetime as dt
import uuid
from collections.abc import Iterable

from django.conf import settings
from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateRangeField, RangeBoundary, RangeOperators
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Case, ExpressionWrapper, F, Func, Q, Subquery, Value, When
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce, Upper
from django.utils import timezone

from athletes.models.access_rules import GROWN_UP, HISTORY_DAYS, AccessRules
from athletes.models.cohorts import Cohort
from athletes.models.users import Role, User
from library.shared.dates import years_before

YOUNGEST, OLDEST = 4, 21


def age_on(birth_date: dt.date, day: dt.date) -> int:
    """Completed years on a day."""
    had_birthday = (day.month, day.day) >= (birth_date.month, birth_date.day)
    return day.year - birth_date.year - (0 if had_birthday else 1)


def born_by(day: dt.date, years: int = GROWN_UP) -> dt.date:
    """The last birth date with which somebody is so old on a day."""
    return years_before(day, years)


def grows_fast(until: dt.date | None, day: dt.date) -> bool:
    """Whether a day is one on which a child growing fast until then is gone gently with."""
    return until is not None and day <= until


def check_birth_date(birth_date: dt.date, today: dt.date) -> None:
    """Raise a ValidationError in plain words unless this is a 4 to 21 year old's birth date."""
    if birth_date > today:
        raise ValidationError("This birth date is in the future.", code="future")
    age = age_on(birth_date, today)
    if age < YOUNGEST:
        raise ValidationError(
            f"This child would be {age}. Fledge is for ages {YOUNGEST} to {OLDEST}.", code="young"
        )
    if age > OLDEST:
        raise ValidationError(
            f"This birth date makes {age} years. Fledge is for ages {YOUNGEST} to {OLDEST}.",
            code="old",
        )


class ChildQuerySet(models.QuerySet["Child"]):
    def visible_to(self, user: "User") -> "ChildQuerySet":
        """Whose data a person may read and write. Head coach: all. Coach: those enrolled in own
        cohorts, today or from a day to come, and own children. Guardian: own children, but none
        who has taken over at 18 and does not let them read on. Athlete: self. A deactivated
        account: none. `act_as` says the same to the database."""
        return self._of(user, Enrolment.objects.coached_by(user))

    def remembered_by(self, user: "User") -> "ChildQuerySet":
        """Those, and for a coach whoever has left an own cohort since the program's limit: to be
        named in what the cohort did, and no more."""
        return self._of(user, Enrolment.objects.remembered_by(user))

    def coached_by(self, user: "User") -> "ChildQuerySet":
        """For whom this person decides as a coach. Head coach: all. Coach: those enrolled in own
        cohorts, today or from a day to come; an own child elsewhere is another coach's. Anybody
        else, and a deactivated account: none."""
        if not user.is_active or not user.is_coach:
            return self.none()
        if user.is_head_coach:
            return self
        return self.filter(pk__in=Enrolment.objects.coached_by(user).values("child"))

    def of_family(self, user: "User") -> "ChildQuerySet":
        """Whose family this person is, whatever else their account may do: guardians' children, but
        none who has taken over at 18 and does not let them read on, and an athlete's self. A
        deactivated account: none."""
        return self.filter(_has_in_family(user)) if user.is_active else self.none()

    def _of(self, user: "User", enrolments: "EnrolmentQuerySet") -> "ChildQuerySet":
        if not user.is_active:
            return self.none()
        if user.is_head_coach:
            return self
        family = _has_in_family(user)
        if user.is_coach:
            return self.filter(Q(pk__in=enrolments.values("child")) | family)
        return self.filter(family)

    def decided_by(self, user: "User") -> "ChildQuerySet":
        """For whom this person says what a family says: agrees, asks for copies and erasing,
        invites. A guardian: own children until they take over; an athlete: self, from 18 on. A
        deactivated account: none."""
        if not user.is_active:
            return self.none()
        return self.answered_for_by(user, timezone.localdate())

    def answered_for_by(self, person: "User", day: dt.date) -> "ChildQuerySet":
        """`decided_by` on a day, whether the account is on or off."""
        deciding = Guardianship.objects.filter(has_not_taken_over(day), guardian=person)
        is_self = Q(user=person, birth_date__lte=born_by(day))
        return self.filter(Q(pk__in=deciding.values("child")) | is_self)

    def open_to_invitations_by(self, user: User, role: str, day: dt.date) -> "ChildQuerySet":
        """Those whom this person may let somebody in for, in this role. Head coach: all. Coach:
        those in an own cohort who have not left it before this day. Whoever decides for a child:
        that one, for another guardian or the child itself. A deactivated account: none."""
        if not user.is_active:
            return self.none()
        if user.is_head_coach:
            return self
        has_not_left = Enrolment.objects.running_after(day - dt.timedelta(days=1))
        trained = has_not_left.filter(cohort__coaches=user).values("child")
        own = Child.objects.decided_by(user).values("pk")
        is_open = Q(pk__in=[])
        if user.is_coach:
            is_open |= Q(pk__in=trained)
        if role in {Role.GUARDIAN, Role.ATHLETE}:
            is_open |= Q(pk__in=own)
        return self.filter(is_open)

    def family(self) -> models.QuerySet[User]:
        """Their guardians and their own users."""
        return User.objects.filter(Q(guardianships__child__in=self) | Q(child__in=self)).distinct()

    def enrolled_in(self, cohort: Cohort, day: dt.date) -> "ChildQuerySet":
        return self.filter(
            pk__in=Enrolment.objects.filter(cohort=cohort).in_force(day).values("child")
        )

    def named(self, given_name: str, family_initial: str, birth_date: dt.date) -> "ChildQuerySet":
        """The one child, if any, whom the database takes for the same."""
        return self.alias(
            upper_name=Upper("given_name"), upper_initial=Upper("family_initial")
        ).filter(
            upper_name=Upper(Value(given_name)),
            upper_initial=Upper(Value(family_initial)),
            birth_date=birth_date,
        )


class Child(models.Model):
    """A young athlete: a given name, a family initial and a birth date, and no more than that."""

    class Sex(models.TextChoices):
        FEMALE = "female", "girl"
        MALE = "male", "boy"

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    given_name = models.CharField(max_length=40)
    family_initial = models.CharField(max_length=1)
    birth_date = models.DateField()
    sex = models.CharField(
        max_length=6,
        choices=Sex,
        blank=True,
        help_text="Only for estimating the growth spurt, whose published equations differ.",
    )
    growing_fast_until = models.DateField(
        null=True,
        blank=True,
        help_text="While a child grows fast, landings are halved and nothing gets harder.",
    )
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="child",
        help_text="the child's own sign-in, if the family wishes one",
    )
    told_of_18_on = models.DateField(
        null=True,
        blank=True,
        help_text="when its family heard last of what changes on its 18th birthday",
    )
    kit_asked_at = models.DateTimeField(
        null=True, blank=True, help_text="when its family was asked last what is at home"
    )
    guardians = models.ManyToManyField(
        settings.AUTH_USER_MODEL, through="Guardianship", related_name="children"
    )
    created_at = models.DateTimeField(auto_now_add=True)

    objects = ChildQuerySet.as_manager()

    class Meta:
        ordering = ["given_name", "family_initial", "id"]
        constraints = [
            models.CheckConstraint(
                name="child_has_a_name", condition=~Q(given_name="") & ~Q(family_initial="")
            ),
            models.UniqueConstraint(
                Upper("given_name"),
                Upper("family_initial"),
                F("birth_date"),
                name="child_once",
                violation_error_message="A child with this name and birth date is already here.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.given_name} {self.family_initial}."

    def age_on(self, day: dt.date) -> int:
        return age_on(self.birth_date, day)

    def has_taken_over(self) -> bool:
        """Whether it says for itself, from 18 on with an own sign-in, what a guardian said."""
        return self.user_id is not None and self.birth_date <= born_by(timezone.localdate())

    def family_told(self) -> models.QuerySet[User]:
        """To whom of the family a mail about the child goes: its guardians, and in the place of
        those who read no more the athlete."""
        reading = Guardianship.objects.reading().filter(child=self).values("guardian")
        people = Q(pk__in=reading)
        if self.has_taken_over():
            people |= Q(pk=self.user_id)
        return User.objects.filter(people)

    def grows_fast_on(self, day: dt.date) -> bool:
        return grows_fast(self.growing_fast_until, day)


def _has_in_family(user: User) -> Q:
    reading = Guardianship.objects.reading().filter(guardian=user)
    return Q(user=user) | Q(pk__in=reading.values("child"))


def has_not_taken_over(day: dt.date) -> Q:
    """Of a row's child."""
    minor = Q(child__birth_date__gt=born_by(day))
    return Q(child__user__isnull=True) | minor


class GuardianshipQuerySet(models.QuerySet["Guardianship"]):
    def visible_to(self, user: User) -> "GuardianshipQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def of(self, child: "Child") -> "GuardianshipQuerySet":
        return self.filter(child=child).order_by("guardian__name", "pk")

    def let_read_on(self, keys: Iterable[int]) -> None:
        """These, and none of the others, in one statement."""
        chosen = Q(pk__in=list(keys))
        self.order_by().update(reads_on=Case(When(chosen, then=True), default=False))

    def deciding(self) -> "GuardianshipQuerySet":
        """Of children who have not taken over."""
        return self.filter(has_not_taken_over(timezone.localdate()))

    def reading(self) -> "GuardianshipQuerySet":
        """And of those who let the guardian read on."""
        return self.filter(has_not_taken_over(timezone.localdate()) | Q(reads_on=True))

    def let_in_by(self, guardianship: "Guardianship") -> "GuardianshipQuerySet":
        """The other guardians of a child who came in by this one's invitation."""
        of_this_child = self.filter(child=guardianship.child_id)
        return of_this_child.filter(
            guardian__accepted_invitations__child=guardianship.child_id,
            guardian__accepted_invitations__invited_by=guardianship.guardian_id,
        ).distinct()


class Guardianship(models.Model):
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="guardianships")
    guardian = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="guardianships"
    )
    reads_on = models.BooleanField(
        default=False,
        db_default=False,
        help_text="whether the child, once it has taken over at 18, lets the guardian read on",
    )

    objects = GuardianshipQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(name="guardian_once_per_child", fields=["child", "guardian"])
        ]

    def __str__(self) -> str:
        return f"{self.guardian} for {self.child}"


def enrolled_on(day: dt.date | Combinable, at: str = "") -> Q:
    """Enrolments in force on a day, which may be a column; `at` is the way to them from another
    model, as "enrolments__"."""
    has_not_ended = Q(**{f"{at}end__isnull": True}) | Q(**{f"{at}end__gte": day})
    return has_not_ended & Q(**{f"{at}start__lte": day})


class EnrolmentQuerySet(models.QuerySet["Enrolment"]):
    def visible_to(self, user: "User") -> "EnrolmentQuerySet":
        """A visible child's, and for a coach those of who has left the own cohorts."""
        if not user.is_active:
            return self.none()
        remembered = Q(pk__in=Enrolment.objects.remembered_by(user).values("pk"))
        return self.filter(Q(child__in=Child.objects.visible_to(user)) | remembered)

    def coached_by(self, user: "User", days_after: int = 0) -> "EnrolmentQuerySet":
        """Those in own cohorts that have not ended, or at most some days ago."""
        before = timezone.localdate() - dt.timedelta(days=1 + days_after)
        return self.filter(cohort__coaches=user).running_after(before)

    def remembered_by(self, user: "User") -> "EnrolmentQuerySet":
        """Those in own cohorts that have not ended longer ago than the program's limit."""
        said = AccessRules.objects.filter(pk=1).values("history_days")
        days = Coalesce(Subquery(said), Value(HISTORY_DAYS))
        kept_until = ExpressionWrapper(F("end") + days, output_field=models.DateField())
        ended = self.filter(cohort__coaches=user).alias(kept_until=kept_until)
        return ended.filter(Q(end__isnull=True) | Q(kept_until__gte=timezone.localdate()))

    def in_force(self, day: dt.date | Combinable) -> "EnrolmentQuerySet":
        return self.filter(enrolled_on(day))

    def running_after(self, day: dt.date) -> "EnrolmentQuerySet":
        """In force on the next day or later: what is left to end after that day."""
        return self.filter(Q(end__isnull=True) | Q(end__gt=day))


class Enrolment(models.Model):
    """A child in a cohort from a day on, to a day if it has ended (both days included)."""

    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="enrolments")
    cohort = models.ForeignKey(Cohort, on_delete=models.PROTECT, related_name="enrolments")
    start = models.DateField()
    end = models.DateField(null=True, blank=True)

    objects = EnrolmentQuerySet.as_manager()

    class Meta:
        ordering = ["child", "-start"]
        constraints = [
            models.CheckConstraint(
                name="enrolment_ends_after_it_starts",
                condition=Q(end__isnull=True) | Q(end__gte=F("start")),
                violation_error_message="An enrolment cannot end before it starts.",
            ),
            ExclusionConstraint(
                name="enrolled_once_at_a_time",
                expressions=[
                    ("child", RangeOperators.EQUAL),
                    ("cohort", RangeOperators.EQUAL),
                    (
                        Func(
                            F("start"),
                            F("end"),
                            RangeBoundary(inclusive_lower=True, inclusive_upper=True),
                            function="DATERANGE",
                            output_field=DateRangeField(),
                        ),
                        RangeOperators.OVERLAPS,
                    ),
                ],
                violation_error_message="This child is already in this cohort on those days.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.child} in {self.cohort}"

    def is_in_force(self, day: dt.date) -> bool:
        return self.start <= day and (self.end is None or day <= self.end)
