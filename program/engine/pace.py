"""How fast a junior moves through a session: every constant behind a minute Fledge shows.

All values are common practice in the trade, without a published source. They are kept together
so that every clock (builder, printed sheet, follow-along) follows one of them. A block sets its own
pauses (`program.models.pauses`); the speeds of work are the same for all.
"""

from dataclasses import dataclass, fields
from math import inf

from library.tempo import FAST_SECONDS


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """The seconds between work and the speed of work that is not written in seconds.

    A time of 0 leaves its step out of the session. Speeds are above 0, because work takes time.
    Raises ValueError for a negative time or a speed of 0 or less.
    """

    get_ready: int = 10
    """Seconds before the first work of each part: hear its name, take the place, settle."""
    change_side: int = 4
    """Seconds to change from the left to the right side."""
    move_on: int = 5
    """Seconds to take the position of the next exercise."""
    breather: int = 10
    """Seconds between two exercises where a slot does not say."""
    drink: int = 20
    """Seconds for a sip between two parts."""
    fetch_a_grown_up: int = 10
    """Seconds at the least before a watched exercise begins: somebody comes and says so."""
    seconds_per_metre: float = 2.5
    """Speed of travelling work. At 2.5 a lane of 8 m is the usual crawling bout of 20 s."""
    seconds_per_fast_phase: float = FAST_SECONDS
    """What a tempo's X takes."""
    seconds_per_repetition: float = 3.0
    """A repetition with no tempo: 2 s down, 1 s up, the quick end of a controlled lowering."""

    def __post_init__(self) -> None:
        for field in fields(self):
            seconds = getattr(self, field.name)
            is_speed = field.name.startswith("seconds_per_")
            if not 0 <= seconds < inf or (is_speed and seconds == 0):
                words = field.name.replace("_", " ")
                raise ValueError(f"The pace for “{words}” cannot be {seconds:g}.")


JUNIOR_PACE = Pace()
