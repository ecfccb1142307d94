"""How wide a label is before a browser has seen it, so that drawings can break their lines.

Widths are in em of the label's size, for the body font at weight 400 and, `strong`, 700.
"""

from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations, pairwise

# fmt: off
# Advance widths from " " to "~" in thousandths of an em, read from the font file we serve.
_REGULAR = (
    280, 286, 301, 651, 592, 919, 731, 160, 299, 299, 485, 606, 210, 362, 210, 387, 648, 407,
    548, 576, 614, 588, 598, 510, 615, 595, 210, 210, 553, 628, 553, 480, 778, 626, 613, 645,
    669, 569, 552, 694, 694, 392, 512, 631, 541, 824, 693, 714, 592, 724, 614, 592, 558, 690,
    593, 856, 623, 575, 607, 317, 387, 344, 552, 372, 243, 525, 566, 485, 564, 538, 314, 558,
    550, 252, 245, 492, 262, 845, 550, 548, 566, 574, 349, 471, 326, 540, 461, 684, 481, 449,
    460, 344, 237, 344, 555,
)
_STRONG = (
    312, 303, 390, 765, 610, 969, 725, 210, 335, 335, 485, 595, 271, 373, 272, 440, 659, 440,
    579, 600, 624, 607, 626, 537, 624, 571, 272, 272, 569, 612, 569, 547, 781, 678, 643, 658,
    688, 597, 566, 718, 701, 424, 561, 663, 552, 858, 717, 746, 629, 756, 650, 610, 607, 686,
    644, 886, 685, 650, 618, 340, 440, 344, 582, 400, 288, 552, 596, 510, 596, 563, 365, 593,
    571, 300, 259, 555, 318, 882, 571, 576, 596, 599, 376, 508, 376, 567, 530, 740, 539, 521,
    505, 381, 254, 381, 537,
)
# fmt: on
_REST = 760  # any other letter: as wide as a capital
_SLACK = 1.02  # browsers round
NO_BREAK = "\u00a0"


@lru_cache(maxsize=8192)
def text_width(text: str, *, strong: bool = False) -> float:
    """Width of a label in em, as the body font sets it."""
    advances = _STRONG if strong else _REGULAR
    return sum(_advance(advances, c) for c in text) * _SLACK / 1000


def _advance(advances: Sequence[int], character: str) -> int:
    place = ord(" " if character == NO_BREAK else character) - ord(" ")
    return advances[place] if 0 <= place < len(advances) else _REST


def _words(text: str) -> list[str]:
    return [word for word in text.split(" ") if word]


def wrap(text: str, width: float, *, strong: bool = False) -> tuple[str, ...]:
    """The fewest lines, each at most `width` em wide unless a single word is wider."""
    lines: list[str] = []
    for word in _words(text):
        if lines and text_width(f"{lines[-1]} {word}", strong=strong) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return tuple(lines)


@lru_cache(maxsize=8192)
def least_width(text: str, lines: int, *, strong: bool = False) -> float:
    """The narrowest width in em at which the text stands on at most that many lines."""
    words = _words(text)
    breaks = combinations(range(1, len(words)), min(lines, len(words)) - 1) if words else ()
    cuts = [pairwise((0, *inner, len(words))) for inner in breaks]
    return min(
        (
            max(text_width(" ".join(words[start:end]), strong=strong) for start, end in cut)
            for cut in cuts
        ),
        default=0.0,
    )
