"""Findings about a family: nobody of it is here, or nobody has said whether the child may be
measured."""

from collections.abc import Iterator
from typing import Final

from athletes.family_state import FamilyState
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
SENT_AGAIN: Final = 7
"""Days."""

NO_ANSWER: Final = "Nobody has answered whether it may be measured"
ASKED: Final = "Asked, look again in three months"
AGAIN: Final = "Seen, look again in four weeks"
INVITE: Final = Action(Do.LOOK, "Invite the family")
SEND_AGAIN: Final = Action(Do.INVITE_AGAIN, "Send the invitation again", days=SENT_AGAIN)
NOT_HERE: Final = {
    FamilyState.NOT_INVITED: ("Nobody of the family is invited yet", INVITE),
    FamilyState.INVITED: ("Invited, and nobody has signed in yet", SEND_AGAIN),
    FamilyState.RUN_OUT: ("Invited, and the invitation has run out", SEND_AGAIN),
    FamilyState.UNDELIVERED: (
        "The invitation could not be delivered",
        Action(Do.LOOK, "Invite another address"),
    ),
}
KEYS: Final = {FamilyState.NOT_INVITED: f"{Kind.CONSENT}-family"}
"""As answers name it that are older than the others."""


def consent_findings(rows: ReviewRows) -> Iterator[Finding]:
    for who in rows.who.values():
        age = who.child.age_on(rows.today)
        if not who.cohorts:
            continue
        if who.family is not FamilyState.HERE:
            yield _nobody_here(who, rows)
        elif who.answers.are_silent_on(HEIGHTS) and MEASURED_FROM <= age <= MEASURED_UNTIL:
            yield _not_agreed(who, rows)


def _nobody_here(who: Who, rows: ReviewRows) -> Finding:
    headline, do = NOT_HERE[who.family]
    return Finding(
        key=KEYS.get(who.family, f"{Kind.FAMILY}-{who.family}"),
        kind=Kind.FAMILY,
        who=who,
        subjects=(),
        headline=headline,
        alike=headline,
        evidence=("Nobody can agree to anything, log or say that something hurts.",),
        actions=(
            do,
            Action(Do.SEEN, AGAIN, days=ASK_FAMILY_AGAIN, for_all=AGAIN),
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
        headline=NO_ANSWER,
        alike=NO_ANSWER,
        evidence=(
            "At this age a growth spurt may begin; without heights nobody sees it. A guardian "
            "finds the question at the end of the child’s day, and may say no.",
        ),
        actions=(
            Action(Do.SEEN, ASKED, days=ASK_HEIGHTS_AGAIN, for_all=ASKED),
            Action(Do.DECLINED, "They would rather not"),
        ),
        on=rows.today,
    )
