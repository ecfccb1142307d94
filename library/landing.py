"""What an exercise that jumps, lands or skips says of itself, and what counts where it does not.

Whether something lands is asked here and nowhere else. The pattern is trusted as well as the
number, because 0 is also what stays where nobody thought of it.
"""

from collections.abc import Collection
from decimal import Decimal
from typing import Final, NamedTuple, Protocol, SupportsFloat

from library.body import Labelled, Region

LANDING_PATTERNS: Final = frozenset({"jump", "land", "skip"})
"""The patterns, by code, whose exercises land unless they say why nothing does."""

CATCHES_A_LANDING: Final = (Region.ANKLE, Region.KNEE)
"""What every landing on the feet loads. Common practice, from memory."""

USUAL_CONTACTS: Final = {"repetitions": 1.0, "seconds": 2.0, "metres": 2.0}
"""Ground contacts of one repetition, second or metre where a landing pattern gives none: what most
exercises of the starter library have. A house rule."""


class ContactClass(Labelled):
    """How hard an exercise's ground contacts are; of several the hardest that it holds.

    The handbooks grade jumps by intensity (from memory): skipping and small jumps on the spot are
    low, jumps for height or distance and several in a row medium, bounds and tuck jumps high, and
    jumps down from something the hardest. That whatever comes down on one leg, or from a height, is
    a class of its own is common practice: one leg takes what two share, and a height adds to it.
    """

    LOW = "low", "low"
    MEDIUM = "medium", "medium"
    HIGH = "high", "high"
    ONE_LEG = "one_leg", "on one leg"
    FROM_HEIGHT = "from_height", "from a height"


UNSAID_CLASS: Final = ContactClass.HIGH
"""What contacts count as where nobody has said how hard they are; those of a skip, which every
handbook has lowest, are low. A house rule: rather too hard than too soft."""


class Unsaid(Labelled):
    """What a landing pattern must say and does not, as the end of "It does not say …"."""

    CONTACTS = "contacts", "how many ground contacts it has"
    CLASS = "class", "how hard they are"
    ANKLE = "ankle", "that the ankle carries load"
    KNEE = "knee", "that the knee carries load"
    FLOOR = "floor", "on what floor it is done"


class Counted(Protocol):
    """How an exercise counts and whether it lands; contacts and reason as written."""

    @property
    def pattern(self) -> str: ...
    @property
    def measure(self) -> str: ...
    @property
    def contacts(self) -> SupportsFloat: ...
    @property
    def no_landing_because(self) -> str: ...


class Classed(Counted, Protocol):
    """One that says how hard its contacts are, "" where it does not."""

    @property
    def contact_class(self) -> str: ...


class AsWritten(NamedTuple):
    """What was written of an exercise that is not stored yet."""

    pattern: str
    measure: str
    contacts: float | Decimal
    no_landing_because: str
    contact_class: str = ""


def lands_by_pattern(exercise: Counted) -> bool:
    """Whether it is of a landing pattern and does not say why nothing lands."""
    return exercise.pattern in LANDING_PATTERNS and not exercise.no_landing_because


def contacts_counted(exercise: Counted) -> float:
    """Its ground contacts in one repetition, second or metre: as written, or the usual ones of its
    measure where it lands by its pattern and gives none. More than 0 wherever it lands."""
    contacts = float(exercise.contacts)
    if contacts == 0 and lands_by_pattern(exercise):
        return USUAL_CONTACTS[exercise.measure]
    return contacts


def class_counted(exercise: Classed) -> ContactClass:
    """How hard its ground contacts are, as written or as it counts where it does not say; of one
    that has none, low."""
    if exercise.contact_class:
        return ContactClass(exercise.contact_class)
    lands = contacts_counted(exercise) > 0
    return UNSAID_CLASS if lands and exercise.pattern != "skip" else ContactClass.LOW


def unsaid(exercise: Classed, loads: Collection[str], *, names_a_floor: bool) -> tuple[Unsaid, ...]:
    """What it must say of its landings and does not; () where it says all, or why nothing lands.

    `loads` are the codes of the regions that carry load; `names_a_floor` says whether one of its
    needs is met by floors alone.
    """
    if not lands_by_pattern(exercise):
        is_classed = contacts_counted(exercise) == 0 or exercise.contact_class
        return () if is_classed else (Unsaid.CLASS,)
    said = {
        Unsaid.CONTACTS: float(exercise.contacts) > 0,
        Unsaid.CLASS: bool(exercise.contact_class),
        Unsaid.ANKLE: Region.ANKLE in loads,
        Unsaid.KNEE: Region.KNEE in loads,
        Unsaid.FLOOR: names_a_floor,
    }
    return tuple(each for each in Unsaid if not said[each])


def in_words(missing: Collection[Unsaid]) -> str:
    """What is unsaid as the end of "It does not say …": "this, that or the other"; "" for none."""
    *first, last = [each.label for each in missing] or [""]
    return f"{', '.join(first)} or {last}" if first else last
