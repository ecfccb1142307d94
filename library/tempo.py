"""The shape of a tempo, which the database holds every revision to.

What a tempo means in time is computed where doses are, above the library; this is only what may be
written down. Whatever has this shape can be read there, and a test holds the two together.
"""

PHASE, MOVING = "([0-9]|10)", "([0-9]|10|X)"
TEMPO = f"^(?!0-0-0-0$){MOVING}-{PHASE}-{MOVING}-{PHASE}$"
"""A regular expression, as both Python and Postgres read it."""

IN_WORDS = (
    "A tempo is four numbers of seconds from 0 to 10, lowering-pause-lifting-pause, such as "
    "3-1-1-0. Lowering or lifting may be X for fast. Four zeros take no time."
)
