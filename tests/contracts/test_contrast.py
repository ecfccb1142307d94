"""Every pair of text and ground the stylesheets use, held against WCAG 2.2.

Relative luminance and contrast ratio: W3C, Web Content Accessibility Guidelines 2.2, definitions
"relative luminance" and "contrast ratio"; thresholds: success criteria 1.4.3 and 1.4.11.
"""

import re
from pathlib import Path

import pytest

CSS = Path(__file__).resolve().parents[2] / "static" / "css"
SCHEMES = ("light", "dark", "print")
TINTS = ("moss-2", "clay-2", "straw-2", "lake-2")
SHEETS = ("paper", "card")

TEXT_ON_GROUND = {
    *(("ink", ground) for ground in (*SHEETS, *TINTS)),
    *(("soft", ground) for ground in (*SHEETS, *TINTS)),
    *((colour, ground) for colour in ("moss", "clay", "straw", "lake") for ground in SHEETS),
    *((tint.removesuffix("-2"), tint) for tint in TINTS),
    ("lake", "clay-2"),
    ("lake", "moss-2"),
    ("paper", "ink"),
    ("on-moss", "moss"),
    ("on-clay", "clay"),
}
DRAWN_ON_GROUND = {
    (colour, ground) for colour in ("ink", "soft", "moss", "clay", "lake") for ground in SHEETS
}


def tokens(scheme: str) -> dict[str, str]:
    blocks = re.findall(r":root \{(.*?)\}", (CSS / "tokens.css").read_text(), re.DOTALL)
    coloured = [dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block)) for block in blocks]
    light, dark, paper = (block for block in coloured if block)
    return {"light": light, "dark": light | dark, "print": light | paper}[scheme]


def luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def pairs_set_together() -> set[tuple[str, str]]:
    """Every text colour and ground that one rule of ours sets at once."""
    found = set()
    for path in CSS.rglob("*.css"):
        for body in re.findall(r"\{([^{}]*)\}", path.read_text()):
            colour = re.search(r"(?<![\w-])color: var\(--([\w-]+)\)", body)
            ground = re.search(r"background(?:-color)?: var\(--([\w-]+)\)", body)
            if colour and ground:
                found.add((colour[1], ground[1]))
    return found


def test_the_measure_gives_the_ratios_wcag_names() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("scheme", SCHEMES)
def test_text_is_readable_on_every_ground_it_stands_on(scheme: str) -> None:
    colours = tokens(scheme)
    ratios = {pair: contrast(*(colours[name] for name in pair)) for pair in TEXT_ON_GROUND}
    assert {pair: ratio for pair, ratio in ratios.items() if ratio < 4.5} == {}


@pytest.mark.parametrize("scheme", SCHEMES)
def test_lines_marks_and_bars_stand_out_from_the_sheet(scheme: str) -> None:
    colours = tokens(scheme)
    ratios = {pair: contrast(*(colours[name] for name in pair)) for pair in DRAWN_ON_GROUND}
    assert {pair: ratio for pair, ratio in ratios.items() if ratio < 3} == {}


def test_no_rule_pairs_colours_that_are_not_measured_here() -> None:
    together = pairs_set_together()
    assert len(together) > 8
    assert together - TEXT_ON_GROUND == set()
