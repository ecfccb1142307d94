from collections.abc import Iterable
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.db.models.expressions import Combinable

from athletes.models import Child

if TYPE_CHECKING:
    from athletes.models import User
    from program.models.questions import Question
    from program.models.reports import Report


class ReadByFamilyQuerySet(models.QuerySet["ReadByFamily"]):
    def visible_to(self, user: "User") -> "ReadByFamilyQuerySet":
        """One's own, and nobody else's: who has read what is for no coach to see."""
        if not user.is_active:
            return self.none()
        return self.filter(person=user, child__in=Child.objects.visible_to(user))

    def write_down(self, person: "User", link: str, read: "Iterable[Question | Report]") -> None:
        """That a person has these answers, or these reports, as `link` says, before their eyes as
        they stand. One query, and none without any."""
        rows = [
            ReadByFamily(person=person, child_id=each.child_id, as_of=each.went_at, **{link: each})
            for each in read
            if each.went_at
        ]
        self.bulk_create(
            rows,
            update_conflicts=True,
            unique_fields=["person", link],
            update_fields=["as_of"],
        )


class ReadByFamily(models.Model):
    """That somebody of a child's family has opened the page of an answer or a report: it does not
    stand on that person's first page any more. Not when: only as it was written when."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="+")
    question = models.ForeignKey(
        "program.Question", on_delete=models.CASCADE, null=True, related_name="+"
    )
    report = models.ForeignKey(
        "program.Report", on_delete=models.CASCADE, null=True, related_name="+"
    )
    as_of = models.DateTimeField(
        help_text="when what was read was answered, sent or corrected; anew, it is unread again"
    )

    objects = ReadByFamilyQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(name="an_answer_is_read_once", fields=["person", "question"]),
            models.UniqueConstraint(name="a_report_is_read_once", fields=["person", "report"]),
            models.CheckConstraint(
                name="an_answer_or_a_report_is_read",
                condition=Q(question__isnull=True, report__isnull=False)
                | Q(question__isnull=False, report__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.question or self.report}"


def unread_by(user: "User", link: str, as_of: Combinable) -> Q:
    """Of questions or reports, as `link` says: whether they are of this person's own family, and
    not read as of what they say now."""
    own = Child.objects.of_family(user).filter(pk=OuterRef("child"))
    read = ReadByFamily.objects.filter(person=user, as_of=as_of, **{link: OuterRef("pk")})
    return Q(Exists(own)) & ~Q(Exists(read))
