"""The everyday words for parts of the body, in which a stop line or a caution names a region."""

import re
from collections.abc import Collection, Iterator
from typing import Final

from library.body import LEG, Region

_MEANT: Final = {
    Region.HEAD_NECK: ("head", "neck"),
    Region.SHOULDER: ("shoulder", "shoulders"),
    Region.ELBOW: ("elbow", "elbows", "forearm", "forearms"),
    Region.WRIST_HAND: ("wrist", "wrists", "hand", "hands", "finger", "fingers", "grip"),
    Region.UPPER_BACK: ("upper back", "shoulder blade", "shoulder blades"),
    Region.LOWER_BACK: ("back", "low back", "lower back", "waist", "trunk"),
    Region.HIP_GROIN: ("hip", "hips", "groin", "pubic", "sitting bone", "sitting bones"),
    Region.THIGH: ("thigh", "thighs", "hamstring", "hamstrings"),
    Region.KNEE: ("knee", "knees", "kneecap", "kneecaps", "kneel", "kneeling"),
    Region.LOWER_LEG: ("calf", "calves", "shin", "shins", "lower leg", "lower legs"),
    Region.ANKLE: ("ankle", "ankles", "cord above the heel", "cord above it", "achilles"),
    Region.FOOT: ("foot", "feet", "heel", "heels", "sole", "soles", "arch", "toe", "toes"),
}
BODY_WORDS: Final = {
    **{word: frozenset({region}) for region, words in _MEANT.items() for word in words},
    "leg": frozenset(LEG),
}
"""By word, every region it may mean. Chest, ribs and belly are no regions: a report of them ends
the session, whatever the exercise loads."""

# Places and measures, not the parts that the word otherwise means: "the back of a heel", "sore at
# the back", "the back foot", "bend far back", "its back against a wall", "a hand's length".
_NO_PART: Final = (
    r"at the back|back of|back (?=foot|knee|hip|leg)|far back|its back|slide back|"
    r"hand['’]s|finger['’]s|than a hand"
)
_WORD: Final = re.compile(
    rf"\b(?:(?:{_NO_PART})|({'|'.join(sorted(BODY_WORDS, key=len, reverse=True))}))\b",
    re.IGNORECASE,
)


def body_words(text: str) -> Iterator[str]:
    """The words of a text that name a part of the body, in lower case."""
    return (found[1].lower() for found in _WORD.finditer(text) if found[1])


def spared_in_vain(text: str, loads: Collection[str]) -> list[str]:
    """The words that name a place which carries no load here, so that an exercise that says them is
    kept although the place hurts."""
    return [word for word in body_words(text) if BODY_WORDS[word].isdisjoint(loads)]


def regions_named(text: str) -> frozenset[Region]:
    """Every region that a text may mean."""
    return frozenset(region for word in body_words(text) for region in BODY_WORDS[word])
