"""How many ground contacts a day may ask of a child: of one body, in however many sessions of
however many cohorts; in all, and of each class.

What is published for children of 5 to 14 begins with 50 to 60 jumps a session, twice a week, in the
programs with the largest changes (Johnson, Salzberg & Stevenson 2011, J Strength Cond Res
25:2623-2633, abstract; studies of low quality, and safety was not rigorously tested). Our ceiling
for all contacts is 60 below 9 years, the upper end of that, and lies above it from then on, since
skips and small bounces count in it, too; that for medium ones, which most jumps are, is 40, 53 and
66. What begins from nothing is held to the published start by a check of its own
(`checks.week.landing_start`).
"""

from collections.abc import Mapping
from fractions import Fraction
from typing import Final

from library.landing import ContactClass
from program.engine.ages import limit_for_age

CONTACT_CEILINGS: Final = ((9, 60), (12, 80))
"""Most ground contacts for children younger than so many years. Common practice, from memory: the
handbooks' 80 to 100 in a session is for grown beginners, and a child starts below it. They think of
one session a day; two on one day share it. A house rule."""


CONTACT_CEILING_OF_THE_OLDER: Final = 100


def contact_ceiling(age: int) -> int:
    """The most ground contacts on one day for a child of this age, in completed years."""
    return limit_for_age(age, CONTACT_CEILINGS, CONTACT_CEILING_OF_THE_OLDER)


CLASS_SHARES: Final[Mapping[ContactClass, Fraction]] = {
    ContactClass.LOW: Fraction(1),
    ContactClass.MEDIUM: Fraction(2, 3),
    ContactClass.HIGH: Fraction(1, 3),
    ContactClass.ONE_LEG: Fraction(1, 2),
    ContactClass.FROM_HEIGHT: Fraction(1, 4),
}
"""How much of a day's ceiling may be contacts of each class. A house rule: that harder landings are
to be fewer is what the handbooks say (from memory), how many fewer is ours."""


def class_ceiling(ceiling: int, contact_class: ContactClass) -> int:
    """The most contacts of a class on a day for whom so many in all are the most."""
    return int(ceiling * CLASS_SHARES[contact_class])
