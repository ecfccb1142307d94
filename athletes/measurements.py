"""What a child's measurements say."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from athletes import growth
from athletes.growth import MaturityOffset, TapeError, Velocity
from athletes.models import Child, GrowthMeasurement, User
from athletes.models.growth import decimal_age
from library.shared.acting import acting_for_the_program
from library.shared.dates import date_in_words

DUE_AFTER: Final = dt.timedelta(days=100)
"""About three months: sooner, a tape's error is larger than what a child has grown."""


@dataclass(frozen=True)
class Growth:
    """What a child's measurements, in the order of their days, say about its growing."""

    child: Child
    measurements: Sequence[GrowthMeasurement]
    tape: TapeError

    @cached_property
    def velocity(self) -> Velocity | None:
        return growth.velocity((each.measured for each in self.measurements), self.tape)

    @property
    def pace(self) -> str:
        """ "8.4 cm a year since 3 June 2026, give or take 1.1"."""
        found = self.velocity
        if found is None:
            return ""
        since = date_in_words(found.rests_on[0].on)
        return f"{found.cm_a_year:.1f} cm a year since {since}, give or take {found.plus_minus:.1f}"

    @property
    def is_a_spurt(self) -> bool:
        return self.velocity is not None and self.velocity.is_a_spurt

    @cached_property
    def offset(self) -> MaturityOffset | None:
        """By the last measurement; None while nobody has said whether it is a girl or a boy, and at
        an age that no equation was made from."""
        if not self.measurements or not self.child.sex:
            return None
        last = self.measurements[-1]
        sex, age = growth.Sex(self.child.sex), decimal_age(self.child, last.on)
        return growth.maturity_offset(sex, age, last.measured)

    @property
    def not_estimated(self) -> str:
        """Why nothing is said about the growth spurt, "" where something is, or nothing is measured
        yet."""
        name = self.child.given_name
        if not self.measurements or self.offset:
            return ""
        if not self.child.sex:
            return (
                f"Where {name} is in the growth spurt can be estimated once girl or boy is noted: "
                "the published equations differ."
            )
        youngest, oldest = growth.AGES[growth.MOORE]
        return (
            f"Where {name} is in the growth spurt is not estimated: the published equations were "
            f"made from children between {youngest:g} and {oldest:g} years, and tell nothing of "
            "others."
        )

    @property
    def spurt_in_words(self) -> str:
        """ "between 0.5 and 1.6 years ahead on 4 November 2026"."""
        found = self.offset
        if found is None:
            return ""
        on = date_in_words(self.measurements[-1].on)
        if found.low < 0 < found.high:
            return f"between {-found.low:.1f} years ahead and {found.high:.1f} years past on {on}"
        if found.high <= 0:
            return f"between {-found.high:.1f} and {-found.low:.1f} years ahead on {on}"
        return f"between {found.low:.1f} and {found.high:.1f} years past on {on}"


def growth_of(user: User, child: Child) -> Growth:
    """What this person may see of it: nothing unless the family agrees."""
    rows = GrowthMeasurement.objects.visible_to(user).filter(child=child)
    measured = list(rows.select_related("measured_by").order_by("on"))
    return Growth(child, measured, program_tape())


def program_tape() -> TapeError:
    """How far the program's tapes are off: of them, not of any one child."""
    with acting_for_the_program():
        return GrowthMeasurement.objects.tape_error()
