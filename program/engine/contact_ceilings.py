"""How many ground contacts a day may ask of a child: of one body, in however many sessions of
however many cohorts."""

from typing import Final

CONTACT_CEILINGS: Final = ((9, 60), (12, 80))
"""Most ground contacts for children younger than so many years. Common practice, from memory: the
handbooks' 80 to 100 in a session is for grown beginners, and a child starts below it. They think of
one session a day; two on one day share it. A house rule."""


CONTACT_CEILING_OF_THE_OLDER: Final = 100


def contact_ceiling(age: int) -> int:
    """The most ground contacts on one day for a child of this age, in completed years."""
    for below, ceiling in CONTACT_CEILINGS:
        if age < below:
            return ceiling
    return CONTACT_CEILING_OF_THE_OLDER
