import datetime as dt
import uuid
from typing import Final

from django.conf import settings
from django.db import models, transaction
from django.db.models import Exists, ExpressionWrapper, OuterRef, Q

from athletes.models import Child, ConsentPurpose, User
from athletes.models.consents import DELETED_AFTER, agreed_to, refused_before
from library.models import Exercise
from library.shared.ids import whole_number
from library.shared.uploads import Kind
from library.shared.uploads.keeping import (
    kind_of,
    let_upload_go,
    upload_field,
    upload_name_is_ours,
)
from program.models.assigned import AssignedSession
from program.models.read_by_family import unread_by

LONGEST_ANSWER: Final = 1000
MOST_QUESTIONS_A_DAY: Final = 8


class QuestionQuerySet(models.QuerySet["Question"]):
    def visible_to(self, user: User) -> "QuestionQuerySet":
        """Whoever may see the child: all its guardians and coaches read every question."""
        return self.filter(child__in=Child.objects.visible_to(user))

    def unread_by(self, user: User) -> "QuestionQuerySet":
        """Whose answer this person, of the family, has not opened yet."""
        return self.filter(_is_unread_by(user))

    def unanswered(self) -> "QuestionQuerySet":
        return self.filter(answered_at__isnull=True)

    def under(self, key: str) -> "QuestionQuerySet":
        """The one that the coach's queue knows under a key."""
        is_a_question = key.startswith(key_of(""))
        number = whole_number(key.removeprefix(key_of(""))) if is_a_question else None
        return self.none() if number is None else self.filter(pk=number)

    def to_be_read_by(self, user: User) -> "QuestionQuerySet":
        """With names, with `is_unread`, and with `shows_upload`: coaches see a photo or clip while
        the family agrees, the family sees its own as long as it is there."""
        own = Child.objects.of_family(user).filter(pk=OuterRef("child"))
        agreed = agreed_to(ConsentPurpose.PHOTOS, child="child")
        return self.select_related(
            "asked_by", "answered_by", "assigned_session", "exercise__current"
        ).annotate(
            is_agreed=ExpressionWrapper(agreed, models.BooleanField()),
            shows_upload=ExpressionWrapper(agreed | Q(Exists(own)), models.BooleanField()),
            is_unread=ExpressionWrapper(_is_unread_by(user), models.BooleanField()),
        )

    def with_refused_uploads(self, now: dt.datetime) -> "QuestionQuerySet":
        """Those whose photo or clip is to be deleted, since the family said no long enough ago."""
        since = now - DELETED_AFTER
        return self.exclude(upload="").filter(refused_before(since, ConsentPurpose.PHOTOS, "child"))

    def let_uploads_go(self) -> None:
        """Delete what came with them; the words stay."""
        for question in self.order_by("pk"):
            with transaction.atomic():
                let_upload_go(question.upload)
                Question.objects.filter(pk=question.pk).update(upload="")

    def are_enough_for_a_day(self, user: User, now: dt.datetime) -> bool:
        """Whether a member of a family has asked as often in the last day as it may: each question
        is mailed to every coach of the child. Within a transaction, in which that person asks only
        here: many at once are counted one after the other."""
        if not user.is_family:
            return False
        User.objects.select_for_update(no_key=True).get(pk=user.pk)
        since = now - dt.timedelta(days=1)
        return self.filter(asked_by=user, asked_at__gte=since).count() >= MOST_QUESTIONS_A_DAY


def _is_unread_by(user: User) -> Q:
    """Nobody has to open what they answered themselves."""
    is_anothers = Q(answered_by__isnull=True) | ~Q(answered_by=user)
    unread = unread_by(user, "question", OuterRef("answered_at"))
    return Q(answered_at__isnull=False) & is_anothers & unread


class Question(models.Model):
    """What a family asks about a session, and the coach's one answer."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="questions")
    assigned_session = models.ForeignKey(
        AssignedSession, on_delete=models.SET_NULL, null=True, related_name="questions"
    )
    exercise = models.ForeignKey(Exercise, on_delete=models.PROTECT, null=True, related_name="+")
    text = models.CharField(max_length=600)
    upload = upload_field()
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    answer = models.CharField(max_length=LONGEST_ANSWER, blank=True)
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = QuestionQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]
        constraints = [
            upload_name_is_ours("question_upload_is_ours"),
            models.CheckConstraint(name="a_question_asks_something", condition=~Q(text="")),
            models.CheckConstraint(
                name="an_answer_says_something_and_when",
                condition=Q(answer="", answered_at__isnull=True)
                | (~Q(answer="") & Q(answered_at__isnull=False)),
            ),
        ]

    def __str__(self) -> str:
        return self.text

    @property
    def about(self) -> str:
        """The exercise, or else the session it was asked on; "" where both are gone."""
        if self.exercise:
            return str(self.exercise)
        return self.assigned_session.name if self.assigned_session else ""

    @property
    def went_at(self) -> dt.datetime | None:
        """When its answer went to the family; none before it is answered."""
        return self.answered_at

    @property
    def shown_upload(self) -> str:
        """The upload as its reader sees it; "" unless it was fetched `to_be_read_by` somebody."""
        return self.upload if getattr(self, "shows_upload", False) else ""

    @property
    def is_hidden_from_coaches(self) -> bool:
        return bool(self.shown_upload) and not getattr(self, "is_agreed", False)

    @property
    def upload_kind(self) -> Kind | None:
        return kind_of(self.upload)

    @property
    def key(self) -> str:
        """Under which the coach's queue knows it."""
        return key_of(self.pk)


def key_of(question_id: object) -> str:
    return f"question-{question_id}"
