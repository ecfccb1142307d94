"""Findings about an agreement that is missing: nobody of the family is here, or nobody has said
whether the child may be measured."""

from collections.abc import Iterator
from typing import Final

from athletes.models import ConsentPurpose
from program.models.resolutions import Do, Kind
from program.review.children import Who
from program.review.finding import Action, Finding
from program.review.queries import ReviewRows

MEASURED_FROM, MEASURED_UNTIL = 9, 15
"""Ages in years between which a spurt may begin, early or late, girls' and boys'. Common practice:
its peak lies at 11.5 and 13.5 years on the average (Abbassi 1998, Pediatrics 102:507-511), and it
begins about two years before. Outside it nobody is bothered."""

HEIGHTS: Final = ConsentPurpose.MEASUREMENTS
ASK_FAMILY_AGAIN: Final = 28
ASK_HEIGHTS_AGAIN: Final = 90
"""Days."""


def consent_findings(rows: ReviewRows) -> Iterator[Finding]:
    for who in rows.who.values():
        age = who.child.age_on(rows.today)
        if not who.cohorts:
            continue
        if not who.has_guardian:
            yield _nobody_here(who, rows)
        elif who.answers.are_silent_on(HEIGHTS) and MEASURED_FROM <= age <= MEASURED_UNTIL:
            yield _not_agreed(who, rows)


def _nobody_here(who: Who, rows: ReviewRows) -> Finding:
    return Finding(
        key=f"{Kind.CONSENT}-family",
        kind=Kind.CONSENT,
        who=who,
        subjects=(),
        headline="No parent or guardian has signed in yet",
        evidence=("Nobody can agree to anything, log or say that something hurts.",),
        actions=(
            Action(Do.LOOK, "Invite the family"),
            Action(Do.SEEN, "Seen, look again in four weeks", days=ASK_FAMILY_AGAIN),
        ),
        on=rows.today,
        weight=1,
    )


def _not_agreed(who: Who, rows: ReviewRows) -> Finding:
    return Finding(
        key=f"{Kind.CONSENT}-heights",
        kind=Kind.CONSENT,
        who=who,
        subjects=(),
        headline="Nobody has answered whether it may be measured",
        evidence=(
            "At this age a growth spurt may begin; without heights nobody sees it. A guardian "
            "finds the question at the end of the child’s day, and may say no.",
        ),
        actions=(
            Action(Do.SEEN, "Asked, look again in three months", days=ASK_HEIGHTS_AGAIN),
            Action(Do.DECLINED, "They would rather not"),
        ),
        on=rows.today,
    )
