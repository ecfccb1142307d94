"""How many ground contacts one session may ask of a child."""

from typing import Final

CONTACT_CEILINGS: Final = ((9, 60), (12, 80))
"""Most ground contacts in one session for children younger than so many years. Common practice,
from memory: the handbooks' 80 to 100 is for grown beginners, and a child starts below it."""


CONTACT_CEILING_OF_THE_OLDER: Final = 100


def contact_ceiling(age: int) -> int:
    """The most ground contacts a session may ask of a child of this age, in completed years."""
    for below, ceiling in CONTACT_CEILINGS:
        if age < below:
            return ceiling
    return CONTACT_CEILING_OF_THE_OLDER
