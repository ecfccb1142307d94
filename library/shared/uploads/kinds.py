"""What can be taken, how much of it, and what the sender is told. No Django."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Kind(StrEnum):
    PHOTO = "photo"
    CLIP = "clip"


class NotTaken(Exception):
    """A file that is not taken; the message says why to whoever chose it."""


@dataclass(frozen=True)
class Upload:
    """A file as it will be kept: JPEG or MP4, in pixels and seconds (a photo has none)."""

    kind: Kind
    content: bytes
    width: int
    height: int
    seconds: float = 0


MEGABYTE: Final = 1024 * 1024
MOST_BYTES: Final = {Kind.PHOTO: 20 * MEGABYTE, Kind.CLIP: 40 * MEGABYTE}
MOST_SECONDS: Final = 20
MOST_PIXELS: Final = 52_000_000
"""Of a photo. The largest phones' usual pictures have about 50 million."""

BROKEN: Final = "This file is damaged or broken off. Choose it again, or take another one."
