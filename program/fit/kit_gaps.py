"""Where a family's kit leaves nothing to do: every exercise of a library against common kits."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from library.usual_home import USUAL_HOME_KIT
from program.engine.fit.fitting import Outcome, WrittenSlot, fit_session
from program.engine.fit.library import FitLibrary
from program.engine.fit.limits import FitChild
from program.engine.prescription import Prescription

EVERY_SPACE: Final = frozenset({"mat-space", "lane-space", "high-space"})
COMMON_KITS: Final[Mapping[str, frozenset[str] | None]] = MappingProxyType(
    {
        "none of the optional things": frozenset({"wall", "carpet"}) | EVERY_SPACE,
        "carpet only": USUAL_HOME_KIT | {"carpet"} | EVERY_SPACE,
        "tiles only": USUAL_HOME_KIT | {"smooth-floor"} | EVERY_SPACE,
        "small room": USUAL_HOME_KIT | {"carpet"},
        "standing room only": (USUAL_HOME_KIT | {"carpet"}) - EVERY_SPACE,
        "not known yet": None,
    }
)
"""Homes as coaches meet them. Common practice, no source."""

LYING_DOWN: Final = "everything on this pathway is done lying down or in a plank"
JUSTIFIED: Final[Mapping[tuple[str, str], str]] = MappingProxyType(
    {
        ("standing room only", "front-brace"): LYING_DOWN,
        ("standing room only", "side-brace"): LYING_DOWN,
        ("standing room only", "hamstring-slide"): LYING_DOWN,
    }
)
"""Gaps of the starter library that are right, by kit and pathway, and why."""

GROWN_ENOUGH: Final = 18
"""Years. A gap is about kit; age and landings have limits of their own."""
NO_CEILING: Final = 10_000


@dataclass(frozen=True, order=True)
class Gap:
    """An exercise that a home cannot do and the library has no easier or equal version for."""

    exercise: str
    kit: str
    pathway: str

    @property
    def justified(self) -> str:
        """Why the gap is right; "" for one that somebody should fill."""
        return JUSTIFIED.get((self.kit, self.pathway), "")


def gaps_of(library: FitLibrary) -> Iterator[Gap]:
    """Every gap, by exercise and kit, for exercises in use."""
    for exercise in library.exercises:
        if not exercise.is_available:
            continue
        usual = Prescription(exercise.amounts.usual)
        slot = WrittenSlot(key="slot", exercise=exercise.slug, prescription=usual)
        for name, kit in COMMON_KITS.items():
            child = FitChild(key=name, age=GROWN_ENOUGH, contact_ceiling=NO_CEILING, kit=kit)
            (fitted,) = fit_session([slot], child, library)
            if fitted.outcome is Outcome.COACH_DECIDES:
                pathway = library.pathway_of(exercise.slug, {})
                yield Gap(exercise.slug, name, pathway.slug if pathway else "")
