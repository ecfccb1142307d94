"""How long a session may take of a child: the younger, the sooner attention and form go."""

from typing import Final

from program.engine.ages import limit_for_age

LONGEST_SESSIONS: Final = ((9, 45), (12, 60), (15, 75))
"""Minutes that are usual at most for children younger than so many years. That the young train
shorter is common practice; the numbers are a house rule."""

LONGEST_SESSION_OF_THE_OLDER: Final = 90


def longest_session(age: int) -> int:
    """The most minutes for a child of this age, in completed years."""
    return limit_for_age(age, LONGEST_SESSIONS, LONGEST_SESSION_OF_THE_OLDER)
