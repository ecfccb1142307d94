"""The body's points and joints in plain words: the near side of a figure is its left."""

from __future__ import annotations

import re

SIDE_WORDS = {"near": "left", "far": "right"}
PARTS = {
    "heel": "foot", "ball": "foot", "toe": "foot", "foot": "foot", "wrist": "hand",
    "fingers": "hand", "grip": "hand", "pelvis": "hips",
}  # fmt: skip
JOINTS = {
    "leg.out": "hip", "leg.turn": "hip", "arm.flex": "shoulder", "arm.out": "shoulder",
    "arm.turn": "shoulder", "bend": "back", "side": "back", "twist": "back",
}  # fmt: skip
SIDED = re.compile(r"\b(near|far)\.(\w+)")


def the(landmark: str) -> str:
    """ "the left foot" for "near.ball", "the hips" for "pelvis"."""
    side, _, part = landmark.rpartition(".")
    return " ".join(filter(None, ["the", SIDE_WORDS.get(side, ""), PARTS.get(part, part)]))


def the_joint(name: str) -> str:
    """ "the left knee" for "near.leg.knee", "the back" for "bend"."""
    side, _, joint = name.partition(".")
    if side not in SIDE_WORDS:
        return f"the {JOINTS.get(name, name)}"
    return f"the {SIDE_WORDS[side]} {JOINTS.get(joint, joint.rpartition('.')[2])}"


def in_words(text: str) -> str:
    """A message with its points of the body named as people name them."""
    named = SIDED.sub(lambda found: the(found[0]), text)
    return named[:1].upper() + named[1:]
