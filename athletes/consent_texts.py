"""What families are asked to agree to, word by word. Whoever changes a text gives it the next
number: an answer keeps the number of the text that was read, and the page asks again.

`tests/athletes/test_consent_texts.py` knows each text by its number.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from athletes.models.consents import ConsentPurpose

CARRIED_OVER: Final = 0
"""The number of an answer from before there were texts with numbers: a guardian had agreed to
heights then."""

WORDS_NOT_KEPT: Final = "The words were not kept: the family does not agree to words about health."
"""To whoever had a page open since before the answer."""


@dataclass(frozen=True)
class ConsentText:
    """One question: what is asked, what it is for, and what a no means. `{name}` is the child's
    given name."""

    version: int
    title: str
    question: str
    purpose: str
    without: str


TEXTS: Final[Mapping[ConsentPurpose, ConsentText]] = {
    ConsentPurpose.TRAINING: ConsentText(
        version=1,
        title="Training",
        question="May {name} get sessions here, and may what was done be kept?",
        purpose=(
            "The coach sends sessions that fit {name}. What is done, how hard it was and what is "
            "at home is kept, so that the next one fits better."
        ),
        without=(
            "With a no, {name} gets no sessions here and cannot follow those that were sent. The "
            "place in the group stays. You can still say that something hurts, and what is to be "
            "spared stays spared."
        ),
    ),
    ConsentPurpose.HEALTH_NOTES: ConsentText(
        version=1,
        title="Words about health",
        question="May you and the coach write words about {name}’s health?",
        purpose=(
            "A line beside what hurts, and beside what is to be spared: how it happened, what the "
            "physiotherapist said."
        ),
        without=(
            "With a no, there is no room for such words. Where it hurts and how much can always be "
            "said, and always counts."
        ),
    ),
    ConsentPurpose.MEASUREMENTS: ConsentText(
        version=1,
        title="Heights",
        question="May {name} be measured?",
        purpose=(
            "Standing height, and if you like sitting height, about every three months: while a "
            "child grows fast, its tendons and growth plates want gentler landings."
        ),
        without=(
            "With a no, nothing is measured. Heights from before are shown to nobody from then on "
            "and deleted after two weeks."
        ),
    ),
    ConsentPurpose.PHOTOS: ConsentText(
        version=1,
        title="Photos and clips",
        question="May photos and short clips of {name} come with a question?",
        purpose=(
            "One photo or clip beside a question, so that the coach sees how an exercise looks. "
            "Only the family and the coaches see it."
        ),
        without=(
            "With a no, none can be sent. Those from before are hidden from the coaches at once "
            "and deleted after two weeks."
        ),
    ),
    ConsentPurpose.MAIL: ConsentText(
        version=2,
        title="Mail to you",
        question="May we mail you?",
        purpose=(
            "A mail when there is an answer, a report or a new session for you. It holds a given "
            "name and a link, nothing of what was written. This is about your own address, for all "
            "your children here. New sessions are told of once in the evening; under “Mail to you” "
            "you can have that at once, or never."
        ),
        without=(
            "With a no, you find everything here when you look. Codes to sign in, invitations and "
            "what you must know for safety are mailed all the same."
        ),
    ),
}
