"""What families ask and nobody has answered."""

from collections.abc import Iterator

from django.utils import timezone

from library.shared.dates import moment_in_words
from program.models.questions import key_of
from program.models.resolutions import Kind
from program.review.finding import LOOK_AT_THE_LOGS, Finding
from program.review.queries import ReviewRows


def question_findings(rows: ReviewRows) -> Iterator[Finding]:
    for who in rows.who.values():
        for asked in who.asked:
            moment = timezone.localtime(asked.at)
            on = f", on {asked.about}" if asked.about else ""
            yield Finding(
                key=key_of(asked.pk),
                kind=Kind.QUESTION,
                who=who,
                subjects=(asked.pk,),
                headline=f"“{asked.text}”",
                evidence=(f"{asked.by} asks, {moment_in_words(moment)}{on}.",),
                actions=(LOOK_AT_THE_LOGS,),
                on=moment.date(),
            )
