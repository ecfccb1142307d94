"""What is known of a child's health in the club of `scene.py`, as it stands on pages."""

import re

from tests.support.asking import Answered
from tests.support.scene import FELL, HEIGHT, HURT, Half, Scene

COACHES = frozenset({"coach", "head_coach"})
FACTS = (
    re.escape(HURT.removesuffix(".")),
    "left elbow",  # what hurts
    re.escape(FELL.removesuffix(".")),
    "left thigh",  # what is spared
    r"\ba restriction\b",  # what is spared, as a block says why a child strays from it
    r'"spared": \["',  # what a phone that follows along is told to leave out
    rf"\b{re.escape(str(HEIGHT))}\b",
    "growing fast",
    "/questions/[-0-9a-f]{36}/upload/",  # a photo
)
TOLD = re.compile("|".join(FACTS), re.IGNORECASE)


def not_written_down(scene: Scene, name: str, role: str, half: Half, answer: Answered) -> str:
    """What a coach was shown of a child's health without its being written down; "" for nothing."""
    is_page = answer.response.headers.get("Content-Type", "").startswith("text/html")
    told = TOLD.search(answer.body) if role in COACHES and is_page else None
    looks = {(each.person, each.child) for each in answer.looks}
    if told is None or (scene.people[role].pk, half.child.pk) in looks:
        return ""
    return f"{name} shows {told[0]!r} to a {role}, and nobody writes down that they looked"
