"""The body as families and coaches speak of it, and what a restriction rules out."""

from enum import StrEnum
from typing import Final


class Labelled(StrEnum):
    """A code with the words people read."""

    label: str

    def __new__(cls, code: str, label: str = "") -> "Labelled":
        member = str.__new__(cls, code)
        member._value_ = code
        member.label = label
        return member


class Region(Labelled):
    HEAD_NECK = "head_neck", "head or neck"
    SHOULDER = "shoulder", "shoulder"
    ELBOW = "elbow", "elbow"
    WRIST_HAND = "wrist_hand", "wrist or hand"
    UPPER_BACK = "upper_back", "upper back"
    LOWER_BACK = "lower_back", "lower back"
    HIP_GROIN = "hip_groin", "hip or groin"
    THIGH = "thigh", "thigh"
    KNEE = "knee", "knee"
    LOWER_LEG = "lower_leg", "lower leg"
    ANKLE = "ankle", "ankle"
    FOOT = "foot", "foot"


LEG: Final = (
    Region.HIP_GROIN,
    Region.THIGH,
    Region.KNEE,
    Region.LOWER_LEG,
    Region.ANKLE,
    Region.FOOT,
)


class Side(Labelled):
    """Which side of the body; BOTH also for what has no side."""

    LEFT = "left", "left"
    RIGHT = "right", "right"
    BOTH = "both", "both sides"


class RestrictionKind(Labelled):
    NO_LANDING = "no_landing", "no landing"
    NO_LOADING = "no_loading", "no loading"
    NOTHING = "nothing", "nothing at all"


def place_in_words(region: Region, side: Side) -> str:
    """A place as it is spoken of: "left knee", or just "knee" for both."""
    return region.label if side is Side.BOTH else f"{side.label} {region.label}"
